"""Tokens and values of one line of a program, and its variables: the lower half of program_walker.py."""
import math
import re

TOKEN = re.compile(r"\d+\.?\d*|\.\d+|\*\*|<[^>]*>|[A-Z]+|\S")
FUNCTIONS = {
    "ABS": abs, "ACOS": lambda x: math.degrees(math.acos(x)), "ASIN": lambda x: math.degrees(math.asin(x)),
    "COS": lambda x: math.cos(math.radians(x)), "EXP": math.exp, "FIX": math.floor, "FUP": math.ceil, "LN": math.log,
    "ROUND": lambda x: math.floor(abs(x) + 0.5) * (1 if x > 0 else -1), "SIN": lambda x: math.sin(math.radians(x)),
    "SQRT": math.sqrt, "TAN": lambda x: math.tan(math.radians(x))}
POWER, PRODUCT, SUM, COMPARISON, LOGIC = 5, 4, 3, 2, 1
BINDS = {"**": POWER, "*": PRODUCT, "/": PRODUCT, "MOD": PRODUCT, "+": SUM, "-": SUM, "EQ": COMPARISON, "NE": COMPARISON, "GT": COMPARISON,
         "GE": COMPARISON, "LT": COMPARISON, "LE": COMPARISON, "AND": LOGIC, "OR": LOGIC, "XOR": LOGIC}
APPLY = {"**": lambda a, b: a ** b, "*": lambda a, b: a * b, "/": lambda a, b: a / b, "MOD": lambda a, b: a % abs(b),
         "+": lambda a, b: a + b, "-": lambda a, b: a - b, "EQ": lambda a, b: float(a == b), "NE": lambda a, b: float(a != b),
         "GT": lambda a, b: float(a > b), "GE": lambda a, b: float(a >= b), "LT": lambda a, b: float(a < b),
         "LE": lambda a, b: float(a <= b), "AND": lambda a, b: float(bool(a) and bool(b)), "OR": lambda a, b: float(bool(a) or bool(b)),
         "XOR": lambda a, b: float(bool(a) != bool(b))}
MOTIONS = {0, 1, 2, 3, 38.2, 38.3, 38.4, 38.5, 73, 81, 82, 83, 84, 85, 86, 87, 88, 89}
KNOWN_G = MOTIONS | {80, 17, 18, 19, 90, 91, 90.1, 91.1, 93, 94, 20, 21, 40, 43, 43.1, 49, 98, 99, 54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3,
                     61, 61.1, 64, 28, 30, 10, 92, 92.1, 92.2, 92.3, 52, 53, 4, 15, 50}
KNOWN_M = {0, 1, 2, 30, 60, 6, 3, 4, 5, 7, 8, 9, 48, 49}
MAPPED_M = {7303, 7304, 7331, 7332}
AXES = "XYZE"
OF_MOTIONS = "XYZABCUVWEFGIJKMNR"


class Scanner:
    """The tokens of one line, without its comments, and the values in them."""

    def __init__(self, text, variables):
        self.tokens = TOKEN.findall(text.upper())
        self.at = 0
        self.variables = variables

    def peek(self, ahead=0):
        return self.tokens[self.at + ahead] if self.at + ahead < len(self.tokens) else ""

    def take(self):
        self.at += 1
        return self.tokens[self.at - 1]

    def value(self):
        token = self.take()
        if token in "+-":
            return -self.value() if token == "-" else self.value()
        if token == "#":
            return self.variables.get(self.key())
        if token == "[":
            return self.bracket()
        if token == "ATAN":
            self.take()
            first = self.bracket()
            assert self.take() == "/" and self.take() == "["
            return math.degrees(math.atan2(first, self.bracket()))
        if token in FUNCTIONS:
            assert self.take() == "["
            return FUNCTIONS[token](self.bracket())
        return float(token)

    def key(self):
        if self.peek().startswith("<"):
            return self.take()[1:-1].replace(" ", "")
        return round(self.value())

    def bracket(self):
        depth, compares = 1, False
        for token in self.tokens[self.at:]:
            depth += (token == "[") - (token == "]")
            if depth == 0:
                break
            compares = compares or depth == 1 and BINDS.get(token) == COMPARISON
        level = (lambda t: BINDS.get(t, 0)) if compares else (lambda t: SUM if BINDS.get(t) == LOGIC else BINDS.get(t, 0))
        result = self.climb(1, level)
        assert self.take() == "]"
        return result

    def climb(self, least, level):
        left = self.value()
        while level(self.peek()) >= least:
            operator = self.take()
            left = APPLY[operator](left, self.climb(level(operator) + 1, level))
        return left

    def loose_arithmetic(self, value):
        """40.8*#10+#6 without brackets: product before sum."""
        terms, found = [value], False
        while self.peek() and self.peek() in "*/+-":
            if not (self.peek(1) in ("#", "[") or found and self.peek() != "*" and self.peek(1)[:1].isdigit()):
                break
            found, sign, right = True, self.take(), self.value()
            if sign in "*/":
                terms[-1] = APPLY[sign](terms[-1], right)
            else:
                terms.append(right if sign == "+" else -right)
        return sum(terms)


def without_comments(line):
    out, depth = "", 0
    for c in line.split(";")[0] if "(" not in line.split(";")[0] else line:
        if c == "(":
            depth += 1
        elif c == ")":
            depth = max(0, depth - 1)
        elif c == ";" and depth == 0:
            break
        elif depth == 0:
            out += c
    return out.strip()


class Variables:
    def __init__(self):
        self.common = {}
        self.own = [{}]

    def home(self, key):
        local = key <= 30 if isinstance(key, int) else not key.startswith("_")
        return self.own[-1] if local else self.common

    def get(self, key):
        return self.home(key).get(key, 0.0)

    def set(self, key, value):
        self.home(key)[key] = value
