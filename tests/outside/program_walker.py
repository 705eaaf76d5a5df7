"""A small interpreter of RS274/NGC programs, written apart from ours: it makes a tree of a program and walks it. Rules: NISTIR 6556 and
the O words of the trade, from memory. It knows no errors: program_reference.py feeds it with right programs only.
"""
import math
import re

from program_values import AXES, FUNCTIONS, KNOWN_G, KNOWN_M, MAPPED_M, MOTIONS, OF_MOTIONS, Scanner, Variables, without_comments

# ---- the tree of a program ----------------------------------------------------------------------------------------------------------
O_LINE = re.compile(r"^(?:N\s*\d+\s*)?O\s*(\d+|<[^>]*>)\s*(SUB|ENDSUB|CALL|RETURN|IF|ELSEIF|ELSE|ENDIF|WHILE|ENDWHILE|DO|REPEAT|ENDREPEAT|"
                    r"BREAK|CONTINUE)?\s*(.*)$")


def o_line(line):
    found = O_LINE.match(line.upper())
    if not found:
        return None
    name = found[1].replace(" ", "") if found[1].startswith("<") else str(int(found[1]))
    return name, found[2] or "NUMBER", found[3]


def parse(lines, at, subs, numbers, ends=()):
    """Statements from line `at` to one of the words in `ends`; the word that ended them and where."""
    body = []
    while at < len(lines):
        found = o_line(lines[at])
        if not found:
            body.append(("line", lines[at]))
            at += 1
            continue
        name, word, rest = found
        if (name, word) in ends:
            return body, at
        if word == "NUMBER":
            numbers[name] = at
            body.append(("label", name))
            if rest:
                body.append(("line", rest))
        elif word == "SUB":
            subs[name], at = parse(lines, at + 1, subs, numbers, {(name, "ENDSUB")})
        elif word == "IF":
            branches, condition = [], rest
            while True:
                inner, at = parse(lines, at + 1, subs, numbers, {(name, w) for w in ("ELSEIF", "ELSE", "ENDIF")})
                branches.append((condition, inner))
                _, ended, rest = o_line(lines[at])
                if ended == "ENDIF":
                    break
                condition = rest if ended == "ELSEIF" else "[1]"
            body.append(("if", branches))
        elif word in ("WHILE", "REPEAT"):
            inner, at = parse(lines, at + 1, subs, numbers, {(name, "END" + word)})
            body.append((word.lower(), name, rest, inner))
        elif word == "DO":
            inner, at = parse(lines, at + 1, subs, numbers, {(name, "WHILE")})
            body.append(("do", name, o_line(lines[at])[2], inner))
        else:
            body.append((word.lower(), name, rest))
        at += 1
    return body, at


class Leave(Exception):
    pass


class Next(Exception):
    pass


class Return(Exception):
    pass


class End(Exception):
    pass


# ---- running it ---------------------------------------------------------------------------------------------------------------------
SYSTEMS = [54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3]
PECK_GAP_MM = 0.254  # ours too: "a bit" in the standard, 0.010 inch (from memory)


class Machine:
    def __init__(self, text):
        self.v = Variables()
        lines = [without_comments(line) for line in text.replace("\r", "").split("\n")]
        self.lines, self.subs, self.numbers = [line for line in lines if line], {}, {}
        if self.lines and self.lines[0].startswith("\ufeff"):
            self.lines[0] = self.lines[0][1:]
        self.at = dict.fromkeys(AXES, 0.0)
        self.systems = [dict.fromkeys(AXES, 0.0) for _ in SYSTEMS]
        self.shift, self.kept, self.tool = ({a: 0.0 for a in AXES} for _ in range(3))
        self.system, self.unit, self.relative, self.e_mode = 0, 1.0, False, None
        self.motion, self.plane, self.absolute_centre, self.low_return = None, 17, False, False
        self.cycle = {}
        self.straight = self.arcs = 0
        self.dwell = self.length = 0.0

    def run(self):
        body, _ = parse(self.lines, 0, self.subs, self.numbers)
        try:
            self.walk(body)
        except End:
            pass
        return self

    def scan(self, text):
        return Scanner(text, self.v)

    def walk(self, body):
        for statement in body:
            getattr(self, "do_" + statement[0])(*statement[1:])

    def do_label(self, name):
        pass

    def do_line(self, text):
        self.block(text)

    def do_if(self, branches):
        for condition, inner in branches:
            if self.scan(condition).value() != 0.0:
                return self.walk(inner)

    def loop(self, name, inner):
        try:
            self.walk(inner)
        except Next as which:
            if which.args[0] != name:
                raise

    def do_while(self, name, condition, inner):
        try:
            while self.scan(condition).value() != 0.0:
                self.loop(name, inner)
        except Leave as which:
            if which.args[0] != name:
                raise

    def do_do(self, name, condition, inner):
        try:
            self.loop(name, inner)
            while self.scan(condition).value() != 0.0:
                self.loop(name, inner)
        except Leave as which:
            if which.args[0] != name:
                raise

    def do_repeat(self, name, count, inner):
        try:
            for _ in range(round(self.scan(count).value())):
                self.loop(name, inner)
        except Leave as which:
            if which.args[0] != name:
                raise

    def do_break(self, name, _):
        raise Leave(name)

    def do_continue(self, name, _):
        raise Next(name)

    def do_return(self, name, _):
        raise Return(name)

    def do_call(self, name, rest):
        scan, values = self.scan(rest), []
        while scan.peek():
            values.append(scan.value())
        self.v.own.append({i + 1: value for i, value in enumerate(values)})
        try:
            self.walk(self.subs[name])
        except Return:
            pass
        self.v.own.pop()

    def call_number(self, number, repeats):
        for _ in range(repeats):
            body, _ = parse(self.lines, self.numbers[str(number)], {}, {})
            try:
                self.walk(body)
            except Return:
                pass

    # ---- one line ----
    def words(self, text):
        """Letters and values, unknown words gone; assignments are made after the line."""
        scan, words, later, mapped, own = self.scan(text), [], [], [], False
        later_motion = re.search(r"G0*(" + "|".join(re.escape(str(m)) for m in sorted(MOTIONS, reverse=True)) + r")(?![\d.])", text.upper())
        moving = False
        while scan.peek():
            token = scan.take()
            if token == "#":
                key = scan.key()
                assert scan.take() == "="
                later.append((key, scan.loose_arithmetic(scan.value())))
                continue
            if len(token) > 1 and token[0].isalpha():  # glued letters: a function after its letter, a letter without number, a name
                if token[1:] in FUNCTIONS or token[1:] == "ATAN":
                    scan.tokens[scan.at - 1:scan.at] = [token[0], token[1:]]
                    continue
                if token in ("GO", "MO"):
                    scan.tokens[scan.at - 1:scan.at] = [token[0], "0" + (scan.peek() if scan.peek().isdigit() else "")]
                    if len(scan.tokens[scan.at]) > 1:
                        del scan.tokens[scan.at + 1]
                    continue
                break
            if not token.isalpha():
                if token.isdigit() or token in "+-.":
                    continue  # a number without its letter
                break
            following = scan.peek()
            if not following or following.isalpha() and following not in FUNCTIONS and following != "ATAN" or following == "<":
                if words and words[-1][0] == "M" or not following.isalpha() and following:
                    break
                words.append((token, None))
                continue
            value = scan.loose_arithmetic(scan.value())
            if token == "N" and not words:
                continue
            if token in "GM":
                value = round(value, 1)
                if token == "M" and value in MAPPED_M:
                    rest = dict(re.findall(r"([A-Z])\s*([\d.]+)", " ".join(scan.tokens[scan.at:])))
                    mapped.append((value, rest))
                    if value in (7303, 7304):
                        continue
                    own = own or moving or bool(later_motion)
                    if not own:
                        break
                    continue
                if value not in (KNOWN_G if token == "G" else KNOWN_M):
                    if moving or token == "G" and later_motion:
                        own = True
                        continue
                    if token == "G":
                        words = [w for w in words if w[0] not in AXES]
                    break
                moving = moving or token == "G" and value in MOTIONS
            elif own and token not in OF_MOTIONS:
                continue
            words.append((token, value))
        return words, later, mapped

    def block(self, text):
        if text.startswith(("%", "/")):
            return
        if re.match(r"[A-Za-z]{2,}[_A-Za-z]*", text) and not re.match(r"[A-Za-z](" + "|".join(FUNCTIONS) + r"|ATAN)\s*\[|[GM]O", text, re.I):
            return
        words, later, mapped = self.words(text)
        g = [value for letter, value in words if letter == "G"]
        m = [value for letter, value in words if letter == "M"]
        w = {letter: value for letter, value in words if letter not in "GM" and value is not None}
        flags = {letter for letter, value in words if value is None}
        self.obey(g, w, flags, mapped)
        for key, value in later:
            self.v.set(key, value)
        if 2 in m or 30 in m:
            raise End
        for word, rest in mapped:
            if word == 7331:
                self.call_number(int(rest["P"]), int(rest.get("L", 1)))
            elif word == 7332:
                raise Return

    def obey(self, g, w, flags, mapped):
        for word in g:
            self.set_mode(word)
        for word, _ in mapped:
            self.e_mode = {7303: "absolute", 7304: "relative"}.get(word, self.e_mode)
        axes = {a: w[a] * self.unit for a in AXES if a in w}
        if 4 in g:
            self.dwell += w.get("P", 0.0)
        if 28 in g or 30 in g:
            return self.go_home(axes, flags & set(AXES))
        if 43.1 in g:
            self.tool.update(axes)
            return
        if 43 in g or 49 in g:
            self.tool = dict.fromkeys(AXES, 0.0)
        if self.set_offsets(g, w, axes):
            return
        arc = self.motion in (2, 3)
        if not axes and not (arc and (2 in g or 3 in g or {"I", "J", "K"} & set(w))):
            return
        if arc:
            self.arc(self.target(axes, g), w)
        elif self.motion in (0, 1) or self.motion is not None and int(self.motion) == 38:
            self.line(self.target(axes, g))
        elif self.motion is not None:
            self.drill(axes, w)

    def set_mode(self, g):
        if g in (20, 21):
            self.unit = 25.4 if g == 20 else 1.0
        elif g in (90, 91):
            self.relative = g == 91
        elif g in (90.1, 91.1):
            self.absolute_centre = g == 90.1
        elif g in (17, 18, 19):
            self.plane = g
        elif g in (98, 99):
            self.low_return = g == 99
        elif g in SYSTEMS:
            self.system = SYSTEMS.index(g)
        elif g in MOTIONS or g == 80:
            if g != self.motion:
                self.cycle = {}
            self.motion = g if g != 80 else None

    def zero(self, axis):
        return self.systems[self.system][axis] + self.shift[axis] + self.tool[axis]

    def counts_on(self, axis):
        return self.e_mode == "relative" if axis == "E" and self.e_mode else self.relative

    def target(self, axes, g=()):
        to = dict(self.at)
        for axis, value in axes.items():
            to[axis] = value if 53 in g else value + (self.at[axis] if self.counts_on(axis) else self.zero(axis))
        return to

    def line(self, to):
        way = [to[a] - self.at[a] for a in AXES]
        if max(map(abs, way)) > 1e-6:
            self.straight += 1
            self.length += math.hypot(*way[:3])
        self.at = to

    def go_home(self, axes, flags):
        if axes:
            self.line(self.target(axes))
        named = set(axes) | flags
        self.line({a: 0.0 if a != "E" and (not named or a in named) else self.at[a] for a in AXES})

    def set_offsets(self, g, w, axes):
        if 10 in g:
            if w.get("L") in (2, 20):
                system = self.systems[int(w.get("P", 0)) - 1 if w.get("P") else self.system]
                for axis, value in axes.items():
                    system[axis] = value if w["L"] == 2 else self.at[axis] - value - self.shift[axis] - self.tool[axis]
            return True
        if 92 in g:
            for axis, value in axes.items():
                self.shift[axis] = self.at[axis] - value - self.systems[self.system][axis] - self.tool[axis]
            self.kept = dict(self.shift)
        elif 52 in g:
            self.shift.update(axes)
        elif 92.1 in g or 92.2 in g:
            self.shift = dict.fromkeys(AXES, 0.0)
            if 92.1 in g:
                self.kept = dict(self.shift)
        elif 92.3 in g:
            self.shift = dict(self.kept)
        else:
            return False
        return True

    def arc(self, to, w):
        a, b, i, j = {17: "XYIJ", 18: "ZXKI", 19: "YZJK"}[self.plane]
        up = (set("XYZ") - {a, b}).pop()
        start, end = complex(self.at[a], self.at[b]), complex(to[a], to[b])
        turn = -1 if self.motion == 2 else 1
        if "R" in w:
            radius, chord = w["R"] * self.unit, end - start
            height = math.sqrt(max(0.0, radius ** 2 - abs(chord) ** 2 / 4))
            side = turn * (1 if radius > 0 else -1)
            centre = (start + end) / 2 + 1j * chord / abs(chord) * height * side
        else:
            centre = complex(w.get(i, 0.0), w.get(j, 0.0)) * self.unit
            centre += complex(self.zero(a), self.zero(b)) if self.absolute_centre else start
        sweep = math.atan2(*reversed(self.parts((end - centre) / (start - centre)))) * turn
        if sweep <= 1e-9:
            sweep += 2 * math.pi
        sweep += 2 * math.pi * (w.get("P", 1) - 1)
        mean = (abs(start - centre) + abs(end - centre)) / 2
        self.length += math.hypot(mean * sweep, to[up] - self.at[up])
        self.arcs += 1
        self.at = to

    @staticmethod
    def parts(number):
        return number.real, number.imag

    def drill(self, axes, w):
        depth = {17: "Z", 18: "Y", 19: "X"}[self.plane]
        c = self.cycle
        c.update({k: w[k] * (1 if k == "P" else self.unit) for k in ("R", "Q", "I", "J", "K") if k in w})
        if "P" in w:
            c["P"] = w["P"]
        if depth in axes:
            c["bottom"] = axes[depth]
        old = self.at[depth]
        top = c["R"] + (old if self.relative else self.zero(depth))
        bottom = c["bottom"] + (top if self.relative else self.zero(depth))
        back = top if self.low_return else max(old, top)
        over = {a: v for a, v in axes.items() if a != depth}
        if old < top:
            self.line({**self.at, depth: top})
        for _ in range(int(w.get("L", 1))):
            self.line(self.target(over))
            self.line({**self.at, depth: top})
            self.hole(depth, top, bottom, back)

    def hole(self, depth, top, bottom, back):
        c, kind = self.cycle, self.motion

        def to(height):
            self.line({**self.at, depth: height})
        if kind == 87:
            here = dict(self.at)
            aside = {"X": here["X"] + c.get("I", 0.0), "Y": here["Y"] + c.get("J", 0.0)}
            middle = c["K"] + (bottom if self.relative else self.zero(depth))
            for x_y, height in ((aside, top), (aside, bottom), (here, bottom), (here, middle), (here, bottom), (aside, bottom), (aside, back),
                                (here, back)):
                self.line({**self.at, "X": x_y["X"], "Y": x_y["Y"], depth: height})
            return
        if kind in (73, 83):
            level = top - c["Q"]
            while level > bottom + 1e-6:
                to(level)
                if kind == 83:
                    to(top)
                to(min(top, level + PECK_GAP_MM))
                level -= c["Q"]
        to(bottom)
        if kind in (82, 86, 88, 89):
            self.dwell += c.get("P", 0.0)
        if kind in (84, 85, 89):
            to(top)
        to(back)
