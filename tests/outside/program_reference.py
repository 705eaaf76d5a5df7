"""Compares what ours makes of programs with program_walker.py, an interpreter that shares nothing with it.

    program_reference.py PROGRAM_ENDS [COUNT]

runs PROGRAM_ENDS (program_ends.cpp) on COUNT random programs (program_writer.py) and on the real programs in the folder that
STEPPER_SIM_PROGRAMS names, and asks for the same ends, moves, arcs, dwells and path lengths.
"""
import os
import subprocess
import sys
import tempfile

from program_walker import AXES, Machine
from program_writer import Writer

END_MM = 1e-5     # sums of relative moves in another order
LENGTH = 1e-5     # of the whole: chords of arcs
SHORT_MM = 2e-3   # real arcs whose radii differ by up to 5 um
DWELL_S = 1e-4


def compare(name, fields):
    text = open(name, encoding="latin-1", newline="").read()
    if text.startswith("\xef\xbb\xbf"):
        text = text[3:]
    m = Machine(text).run()
    errors, x, y, z, e, lines, arcs, dwell, length = (float(f) for f in fields)
    theirs = [m.at[a] for a in AXES]
    wrong = []
    if errors:
        wrong.append(f"{errors:.0f} errors")
    for axis, our, their in zip(AXES, (x, y, z, e), theirs):
        if not abs(our - their) <= END_MM + 1e-9 * abs(their):
            wrong.append(f"{axis} ends at {our}, not {their}")
    if (lines, arcs) != (m.straight, m.arcs):
        wrong.append(f"{lines:.0f} moves and {arcs:.0f} arcs, not {m.straight} and {m.arcs}")
    if abs(dwell - m.dwell) > DWELL_S * (1 + m.dwell):
        wrong.append(f"{dwell} s of dwells, not {m.dwell}")
    if abs(length - m.length) > LENGTH * m.length + SHORT_MM:
        wrong.append(f"{length} mm of path, not {m.length}")
    return wrong, m


def main():
    tool = sys.argv[1]
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 500
    folder = os.environ.get("STEPPER_SIM_PROGRAMS")
    with tempfile.TemporaryDirectory() as place:
        names = []
        for seed in range(count):
            names.append(os.path.join(place, f"random{seed}.ngc"))
            with open(names[-1], "w") as file:
                file.write(Writer(seed).program())
        if folder:
            names += sorted(os.path.join(folder, f) for f in os.listdir(folder) if os.path.isfile(os.path.join(folder, f)))
        run = subprocess.run([tool] + names, capture_output=True, text=True, check=True)
        failed = moves = arcs = 0
        for line in run.stdout.splitlines():
            name, *fields = line.split("\t")
            wrong, machine = compare(name, fields)
            moves += machine.straight
            arcs += machine.arcs
            if wrong:
                failed += 1
                print(name, "; ".join(wrong))
                if failed == 1:
                    print(open(name, encoding="latin-1").read()[:3000])
        print(f"{len(run.stdout.splitlines())} programs, {moves} moves, {arcs} arcs compared, {failed} differ")
        if failed:
            print(run.stderr[:2000])
        return 1 if failed or len(run.stdout.splitlines()) != len(names) or moves < count or arcs < count // 10 else 0


if __name__ == "__main__":
    sys.exit(main())
