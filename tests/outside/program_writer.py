"""Random right programs for program_reference.py: O words, expressions, arcs, drilling cycles, offsets. The same seed, the same program."""
import random

class Writer:
    def __init__(self, seed):
        self.random = random.Random(seed)
        self.out = ["G21 G90 G17 F600", "G0 X0 Y0 Z5", "#40=3 #41=40"]
        self.names = 0
        self.depth = 0

    def number(self, size=50):
        return f"{self.random.uniform(-size, size):.{self.random.randint(0, 4)}f}"

    def expression(self, deep=2):
        kind = self.random.randint(0, 8 if deep else 3)
        inner = lambda: self.expression(deep - 1)  # noqa: E731
        if kind < 2:
            return self.number(9)
        if kind < 4:
            return self.random.choice(["#1", "#2", "#40", "##41", "#<own>", "#<_all>"])
        if kind == 4:
            return f"[{inner()} {self.random.choice('+-*')} {inner()}]"
        if kind == 5:
            return f"{self.random.choice(['SIN', 'COS', 'ABS', 'FIX', 'FUP', 'ROUND'])}[{inner()}]"
        if kind == 6:
            return f"[{inner()} {self.random.choice(['GT', 'LE', 'EQ', 'NE', 'GE', 'LT'])} {inner()} {self.random.choice(['AND', 'OR', 'XOR'])} 1 LT {inner()}]"
        if kind == 7:
            return f"ATAN[{inner()}]/[{self.random.randint(1, 9)}]"
        return f"[{inner()} * 2 ** 2 - {inner()} MOD 7]"

    def statement(self):
        r = self.random
        choice = r.choice
        plain = [
            lambda: f"G{choice('01')} X{self.number()} Y{self.number()}",
            lambda: f"G1 X[{self.expression()} + 1] Z{self.number(9)} E{self.number(3)} F900",
            lambda: f"X{self.number()}",
            lambda: f"#{choice(['1', '2', '40', '<own>', '<_all>'])}=[{self.expression()} MOD 50]",
            lambda: f"G91 G2 X{r.randint(1, 9)} Y{r.randint(1, 9)} R{r.randint(8, 20) * choice([1, -1])}\nG90 G1",
            lambda: f"G91 G{choice('23')} X{2 * (k := r.randint(1, 9))} I{k} Z{self.number(5)}\nG90 G0",
            lambda: f"G91 G18 G{choice('23')} Z{(k := r.randint(1, 9))} X{k} K{k} Y{self.number(5)}\nG90 G17 G0",
            lambda: f"G91 G19 G{choice('23')} J{r.randint(1, 9)} X{self.number(5)} P{r.randint(1, 3)}\nG90 G17 G0",
            lambda: f"{choice(['G81', 'G82', 'G85', 'G86', 'G88', 'G89', 'G84'])} {choice(['G98', 'G99'])} X{self.number()} Y{self.number()} Z-{r.randint(1, 9)} R{r.randint(1, 9)} P0.5\nX{self.number()}\nG80 G0",
            lambda: f"{choice(['G73', 'G83'])} X{self.number()} Z-{r.randint(1, 9)}.1 R{r.randint(1, 9)} Q{r.randint(1, 3)}.3\nG80 G0",
            lambda: f"G91 G81 G99 X{self.number(9)} Y{self.number(9)} Z-{r.randint(1, 9)} R-{r.randint(1, 3)} L{r.randint(1, 4)}\nG80 G90 G0",
            lambda: f"G87 X{self.number()} Z-{r.randint(5, 9)} R2 I{r.randint(1, 3)} J1 K-{r.randint(1, 4)}\nG80 G0",
            lambda: f"G10 L2 P{r.randint(1, 9)} X{self.number()} Z{self.number(3)}",
            lambda: f"G10 L20 P{r.randint(1, 9)} Y{self.number()}",
            lambda: choice(["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]) + f" G0 X{self.number()}",
            lambda: f"G92.1\nG52 X{self.number()} Y{self.number()}\nG0 X1 Y1\nG52 X0 Y0",
            lambda: f"G92 X{self.number()} E{self.number(3)}\nG1 X{self.number()} E1\nG92.2\nX1\nG92.3\nX2\nG92.1",
            lambda: f"G43.1 Z{self.number(9)}\nG0 Z{self.number(9)}\nG49",
            lambda: "G20\nG1 X1.5 Y-.25 F20\nG21 F600",
            lambda: f"M7304\nG1 E{self.number(2)} X{self.number()}\nM7303",
            lambda: f"G53 G0 X{self.number()}",
            lambda: f"G4 P{r.randint(0, 3)}.25",
            lambda: f"G28 X{self.number()} Z",
            lambda: f"G1 G7041 D3 X{self.number()} (unknown) M7305 S3",
            lambda: f"G0 Y{self.number()} M7331 P{choice(['0700', '800'])} L{r.randint(0, 3)}",
            lambda: f"O{choice(['<bow>', '2', '3'])} CALL [{self.expression()}] [{self.number(9)}]",
        ]
        nested = [self.repeat, self.count, self.do_while, self.choose, self.early]
        if self.depth < 2 and r.random() < 0.25:
            choice(nested)()
        else:
            self.out.append(choice(plain)())

    def block(self, most=4):
        self.depth += 1
        for _ in range(self.random.randint(1, most)):
            self.statement()
        self.depth -= 1

    def name(self):
        self.names += 1
        return self.names + 10

    def repeat(self):
        name = self.name()
        self.out.append(f"o{name} repeat [{self.random.randint(0, 4)}]")
        self.block()
        self.out.append(f"o{name} endrepeat")

    def count(self):
        name = self.name()
        self.out.append(f"#{100 + name}=0\nO{name} while [#{100 + name} LT {self.random.randint(0, 5)}]\n#{100 + name}=[#{100 + name}+1]")
        self.block()
        self.out.append(f"O{name} endwhile")

    def do_while(self):
        name = self.name()
        self.out.append(f"#{100 + name}=0\nO{name} do\n#{100 + name}=[#{100 + name}+1]")
        self.block()
        self.out.append(f"O{name} while [#{100 + name} LE {self.random.randint(0, 3)} AND 1 EQ 1]")

    def choose(self):
        name = self.name()
        self.out.append(f"O{name} if [{self.expression()} GT {self.number(9)}]")
        self.block()
        for _ in range(self.random.randint(0, 2)):
            self.out.append(f"O{name} elseif [{self.expression()} LT 0]")
            self.block()
        if self.random.random() < 0.5:
            self.out.append(f"O{name} else")
            self.block()
        self.out.append(f"O{name} endif")

    def early(self):
        name, test = self.name(), self.name()
        self.out.append(f"O{name} repeat [5]\nO{test} if [{self.expression()} LT 3]\nO{name} {self.random.choice(['break', 'continue'])}\nO{test} endif")
        self.block()
        self.out.append(f"O{name} endrepeat")

    def program(self):
        for _ in range(self.random.randint(4, 12)):
            self.statement()
        self.out += ["G80 M30", "O<bow> SUB", "G1 X#1 Y#2", "#1=[#1+1]", "G0 X[#1*#40]", "O<bow> ENDSUB",
                     "O2 SUB", "G91 G3 X4 Y4 R4", "G90 G0", "O9 IF [#1 GT 0]", "O2 RETURN", "O9 ENDIF", "X[#2]", "O2 ENDSUB",
                     "O3 SUB", "#1=[FIX[ABS[#1]] MOD 6]", "O8 IF [#1 GT 0]", "G1 X[#1*3]", "O3 CALL [#1-1]", "Y#1", "O8 ENDIF", "O3 ENDSUB",
                     "O700", "G0 X3 Y3", "X[#40]", "M7332", "O0800", "G1 Z1", "M7331 P700 L2", "M7332"]
        return "\n".join(self.out) + "\n"
