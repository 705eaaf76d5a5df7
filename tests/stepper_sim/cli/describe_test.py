"""Describes machines as a person would: by options, and at a terminal that this script plays; breaks it off and goes on.

Arguments: program, folder of configs.
"""

import os
import pathlib
import pty
import re
import select
import signal
import subprocess
import sys
import tempfile

program, configs = sys.argv[1:3]
MOTOR = "17, 1.5 A rms, 0.4 N m"
PRINTER = {
    "kind": "bed-printer", "travel": "220 mm; 220 mm; 250 mm", "belt": "2mm, 20, 6 mm", "mass": "0.4 kg; 1.1 kg",
    "motor": MOTOR, "driver": "tmc2209", "current": "1.2 A peak", "supply": "24 V", "controller": "avr-16mhz-line",
    "settings": "180 mm/s, 2500 mm/s^2, 9 mm/s",
}
ROUTER = PRINTER | {"kind": "screw-router", "travel": "280 mm; 210 mm; 70 mm", "screw": "5 mm, 13 mm, 400 mm",
                    "mass": "4.5 kg; 7 kg; 2.8 kg", "motor": "qsh5718-56-28-126", "driver": "opto-input-drive-50v", "current": "2.8 A rms",
                    "supply": "36 V", "controller": "cortex-m3-72mhz-line", "settings": "36 mm/s, 300 mm/s^2, 5 mm/s; "
                    "36 mm/s, 300 mm/s^2; 25 mm/s, 200 mm/s^2", "microsteps": "8"}
del ROUTER["belt"]
PLOTTER = PRINTER | {"kind": "belt-plotter", "travel": "12 in; 8 in", "mass": "0.5 lb; 1 lb", "belt": "T2.5, 16, 6 mm",
                     "friction": "0.4 lbf", "stiffness": "45 N/mm"}


def expect(claim, holds, seen=""):
    if not holds:
        sys.exit(f"not so: {claim}\n{seen}")


def run(*words, **more):
    return subprocess.run([program, *map(str, words)], capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=120, **more)


def options(answers):
    return [word for key, answer in answers.items() for word in (f"--{key}", answer)]


def by_options(folder, name, answers):
    out = folder / f"{name}.toml"
    done = run("describe", out, *options(answers))
    expect(f"{name} is written", done.returncode == 0 and done.stderr == "", done.stderr)
    return out


class Terminal:
    """The program with a terminal on standard input and error."""

    def __init__(self, *words):
        self.said, self.seen = "", 0
        self.pid, self.screen = pty.fork()
        if self.pid == 0:
            os.execv(program, [program, *map(str, words)])

    def until(self, what):
        """Reads on to the end of `what`; false: it never comes."""
        while what not in self.said[self.seen:]:
            ready, _, _ = select.select([self.screen], [], [], 20)
            try:
                block = os.read(self.screen, 4096) if ready else b""
            except OSError:
                block = b""
            if not block:
                return False
            self.said += block.decode()
        self.seen = self.said.index(what, self.seen) + len(what)
        return True

    def line(self):
        return self.said[:self.seen].rsplit("\n", 1)[-1]

    def type(self, text):
        os.write(self.screen, text.encode() + b"\n")

    def end(self):
        self.until("\0")
        _, status = os.waitpid(self.pid, 0)
        os.close(self.screen)
        return status


def answer_all(terminal, answers, most=99):
    """Answers what is asked, by the example in each question; how many were asked."""
    asked = 0
    while asked < most and terminal.until(": "):
        question = terminal.line()
        if "such as" not in question:
            continue
        key = next((key for key, words in {
            "kind": "kind of machine", "travel": "travel", "belt": "Belts", "screw": "Screws", "mass": "weighs", "motor": "Motors",
            "driver": "Drivers: ", "current": "set to a current", "supply": "fed with", "controller": "controller",
            "settings": "Settings"}.items() if words in question), None)
        expect("every question is known", key, question)
        terminal.type(answers[key])
        asked += 1
    return asked


def check_files(folder):
    for name, answers in {"printer": PRINTER, "router": ROUTER, "plotter": PLOTTER,
                          "crossed": PRINTER | {"kind": "crossed-printer", "motor": "17hs4401; 17hs4401; 17hs4401; " + MOTOR}}.items():
        out = by_options(folder, name, answers)
        text = out.read_text()
        for line in text.splitlines():
            expect("each guess on a line of its own is explained there", '= "guess"' not in line or "#" in line or "motor" in line, line)
        expect("no mark is left", "@" not in text, text)
        checked = run("check", out, "--no-dynamics")
        expect(f"check reads {name} without complaint", checked.returncode in (0, 1) and checked.stderr == "", checked.stderr)
    printer = (folder / "printer.toml").read_text()
    expect("bands and sources stand there", re.search(r"friction.*# .*assumed: friction 0\.16 N to 5 N \(0\.002", printer), printer)
    expect("the motor's open values too", "assumed: rotor inertia" in printer and "resistance 1.5 ohm to 4.3 ohm" in printer, printer)
    expect("microsteps are marked", re.search(r"microsteps = 16 +# assumed", printer), printer)
    expect("given values are not", re.search(r'supply = "24 V"\n', printer), printer)
    router = (folder / "router.toml").read_text()
    expect("a screw's sizes are kept", 'screw_root = "13 mm", screw_length = "400 mm"' in router, router)
    plotter = (folder / "plotter.toml").read_text()
    expect("any known unit is kept", 'mass = "0.5 lb", friction = "0.4 lbf"' in plotter and '"12 in"' in plotter, plotter)


def check_mistakes(folder):
    out = folder / "none.toml"
    bare = run("describe", out)
    expect("all that is missing is named at once", bare.returncode == 2 and bare.stderr.count("\n") == 1 and
           all(f"--{key}" in bare.stderr for key in PRINTER), bare.stderr)
    wrong = run("describe", out, *options(PRINTER | {"supply": "24", "driver": "tmc2290", "belt": "T5 20"}))
    expect("all that is wrong is named at once", wrong.returncode == 2 and
           all(f"--{key}: found" in wrong.stderr for key in ("supply", "driver", "belt")) and "did you mean 'tmc2209'" in wrong.stderr, wrong.stderr)
    three = by_options(folder, "three", PRINTER | {"mass": "0.4 kg; 1.1 kg; 1.3 kg"}).read_text()
    expect("an axis that is not asked for may be told", three.count('mass = "1.3 kg"') == 1, three)
    short = run("describe", out, *options(PRINTER | {"travel": "220 mm; 220 mm"}))
    expect("too few values are told", short.returncode == 2 and "3 with ';' between for xyz" in short.stderr, short.stderr)
    expect("nothing was written", not list(folder.glob("none*")))
    there = run("describe", folder / "printer.toml", *options(PRINTER))
    expect("a file that is there stays", there.returncode == 2 and "is there already" in there.stderr, there.stderr)
    basis = by_options(folder, "basis", PRINTER | {"current": "1.2 A"}).read_text()
    expect("a current without its basis is both", 'current = { not_stated = "1.2 A" }' in basis and "1.2 A peak to 1.7 A peak" in basis, basis)


def check_terminal(folder):
    out = folder / "asked.toml"
    terminal = Terminal("describe", out)
    asked = answer_all(terminal, PRINTER)
    expect("it ends well", terminal.end() == 0, terminal.said)
    expect("a desktop printer takes at most ten questions", 0 < asked <= 10, terminal.said)
    expect("asked or given, the file is the same", out.read_text() == (folder / "printer.toml").read_text())
    expect("no answers are left behind", not (folder / "asked.toml.answers").exists())


def check_interrupt(folder):
    out = folder / "broken-off.toml"
    terminal = Terminal("describe", out)
    answer_all(terminal, PRINTER, most=4)
    terminal.until(": ")
    os.kill(terminal.pid, signal.SIGINT)
    terminal.end()
    kept = folder / "broken-off.toml.answers"
    expect("an interrupt leaves no half-written machine", not out.exists())
    expect("and loses no answer", kept.exists() and len(kept.read_text().splitlines()) == 4, terminal.said)
    again = Terminal("describe", out)
    asked = answer_all(again, PRINTER)
    expect("the same command goes on from there", again.end() == 0 and asked == len(PRINTER) - 4, again.said)
    expect("to the same file", out.read_text() == (folder / "printer.toml").read_text())
    expect("and tidies up", not kept.exists())


def check_asked_again(folder):
    terminal = Terminal("describe", folder / "again.toml")
    terminal.until("such as bed-printer: ")
    terminal.type("toaster")
    expect("an answer that cannot be used is asked for again",
           terminal.until("expected one of bed-printer") and terminal.until("such as bed-printer: "), terminal.said)
    os.kill(terminal.pid, signal.SIGINT)
    terminal.end()


with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    for step in (check_files, check_mistakes, check_terminal, check_interrupt, check_asked_again):
        step(folder)
print("machines described by options and at a terminal")
