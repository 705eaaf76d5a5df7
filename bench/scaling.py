#!/usr/bin/env python3
"""Prints how time and memory of `check` grow, as Markdown tables: with the length of a program, with
threads, with axes and with the share of suspicious windows.

    bench/scaling.py BUILD [MOST_MOVES]     BUILD: where the build is; default 3000000 moves at most

Programs are generated (print_program.hpp, milling_program.hpp) for the shipped tray printer. Wall time is the
shorter of two runs, processor time and peak memory are the process's own.
"""
import json
import os
import re
import subprocess
import sys
import tempfile
import time

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
FEED_MM_MIN = "3000"
RUNS = 2


class Checker:
    def __init__(self, build, folder):
        self.cli = os.path.join(build, "stepper_sim", "cli", "stepper_sim")
        self.writer = os.path.join(build, "bench", "write_program")
        self.folder = folder

    def program(self, kind, moves):
        path = os.path.join(self.folder, f"{kind}-{moves}.gcode")
        if not os.path.exists(path):
            subprocess.run([self.writer, kind, str(moves), FEED_MM_MIN, path], check=True)
        return path

    def machine(self, name, text):
        path = os.path.join(self.folder, name + ".toml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(re.sub(r'"((?:controllers|motors|drivers)/)', rf'"{ROOT}/configs/\1', text))
        return path

    def run(self, machine, program, *options, threads=None):
        """Seconds of wall and of processor, MB at most, and the report."""
        report = os.path.join(self.folder, "report.json")
        command = [self.cli, "check", machine, program, "--json", report, *options]
        if threads is not None:
            command = ["taskset", "-c", f"0-{threads - 1}", *command]
        best = None
        for _ in range(RUNS):
            start = time.monotonic()
            child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
            _, status, used = os.wait4(child.pid, 0)
            wall = time.monotonic() - start
            if os.waitstatus_to_exitcode(status) not in (0, 1):
                raise SystemExit(f"{' '.join(command)}: failed")
            figures = (wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1000)
            best = figures if best is None else min(best, figures)
        with open(report, encoding="utf-8") as file:
            return (*best, json.load(file))


def shipped():
    with open(os.path.join(ROOT, "configs", "machines", "tray-printer.toml"), encoding="utf-8") as file:
        return file.read()


def calm(text, share):
    """The machine with its accelerations and speed steps at a share of the shipped ones."""
    scale = lambda match: f"{match[1]}{float(match[2]) * share:g} {match[3]}"
    return re.sub(r'((?:max_acceleration|speed_step) = ")([\d.]+) (mm/s(?:\^2)?")', scale, text)


def with_axes(text, letters):
    """The machine with these axes only; words of the others are skipped."""
    for letter in "xyze":
        if letter not in letters:
            text = re.sub(rf"(?ms)^\[axes\.{letter}\].*?(?=^\[)", "", text)
            text = re.sub(rf',? ?\b{letter} = "0 mm"', "", text)
    gone = [letter for letter in "xyze" if letter not in letters]
    return text.replace("[program]", f"[program]\nignore_axes = {json.dumps(gone)}") if gone else text


def table(heads, rows):
    print("| " + " | ".join(heads) + " |")
    print("|" + "---|" * len(heads))
    for row in rows:
        print("| " + " | ".join(str(cell) for cell in row) + " |")
    print()


def main():
    if len(sys.argv) not in (2, 3):
        raise SystemExit(__doc__)
    most = int(sys.argv[2]) if len(sys.argv) == 3 else 3_000_000
    with tempfile.TemporaryDirectory() as folder:
        checker = Checker(sys.argv[1], folder)
        printer = checker.machine("printer", shipped())
        calm_printer = checker.machine("calm", calm(shipped(), 0.05))

        for what, kinds, machine, options in (
            ("without dynamics", ("print", "milling"), printer, ("--no-dynamics",)),
            ("all of it, calm", ("print",), calm_printer, ()),
        ):
            rows = []
            for kind in kinds:
                for moves in (10_000, 100_000, 1_000_000, 3_000_000, 10_000_000):
                    if moves > most:
                        continue
                    wall, cpu, mb, _ = checker.run(machine, checker.program(kind, moves), *options)
                    rows.append((kind, moves, f"{wall:.2f}", f"{cpu:.2f}", f"{1e9 * cpu / moves:.0f}", f"{mb:.0f}"))
            table((what, "moves", "wall s", "processor s", "processor ns a move", "peak MB"), rows)

        moves = min(most, 1_000_000)
        program = checker.program("print", moves)
        rows = []
        for name, machine, *options in (("without dynamics", printer, "--no-dynamics"), ("all of it, calm", calm_printer)):
            for threads in range(1, (os.cpu_count() or 1) + 1):
                wall, cpu, mb, _ = checker.run(machine, program, *options, threads=threads)
                rows.append((name, threads, f"{wall:.2f}", f"{cpu:.2f}", f"{mb:.0f}"))
        table((f"{moves} moves", "threads", "wall s", "processor s", "peak MB"), rows)

        rows = []
        for letters in ("xy", "xyz", "xyze"):
            machine = checker.machine(letters, with_axes(calm(shipped(), 0.05), letters))
            for name, *options in (("without dynamics", "--no-dynamics"), ("all of it, calm",)):
                wall, cpu, _, _ = checker.run(machine, program, *options)
                rows.append((name, len(letters), f"{wall:.2f}", f"{cpu:.2f}"))
        table((f"{moves} moves", "axes", "wall s", "processor s"), rows)

        moves = min(most, 100_000)
        rows = []
        for share in (0.05, 0.2, 0.5, 1.0):
            machine = checker.machine(f"share-{share}", calm(shipped(), share))
            wall, cpu, mb, report = checker.run(machine, checker.program("print", moves))
            # "... 200 of 1234 suspicious windows simulated": the limit of that finding
            suspicious = sum(finding["limit"] for finding in report["findings"]
                             if "suspicious windows simulated" in finding["message"])
            rows.append((share, f"{suspicious:.0f}", f"{wall:.2f}", f"{cpu:.2f}", f"{mb:.0f}"))
        table((f"{moves} moves, share of the accelerations", "suspicious windows", "wall s", "processor s", "peak MB"), rows)


if __name__ == "__main__":
    main()
