"""Two builds of the program by different compilers say the same. Arguments: program, other program, project folder.

Words and whole numbers are equal; other numbers agree to DIGITS: sine and root differ in their last bits between compilers and
what they feed (a simulation, a search by bisection) may enlarge that.
"""

import concurrent.futures
import json
import math
import os
import pathlib
import subprocess
import sys

builds, root = sys.argv[1:3], sys.argv[3]
DIGITS = 9
configs = pathlib.Path(root, "configs")
machine, labels = (str(configs / name) for name in ("machines/label-plotter.toml", "programs/seed-labels.gcode"))
hurried, marker = (str(configs / name) for name in ("machines/tray-printer-hurried.toml", "programs/wedge-marker.gcode"))
COMMANDS = (  # no limits: its many simulations take minutes under the sanitizers
    ["check", hurried, marker, "--windows", "20"],
    ["check", machine],
    ["rates", hurried],
    ["torque", hurried, marker, "--axis", "y"],
    ["capture", machine, str(configs / "captures/label-plotter.vcd"), labels],
)


def same(a, b, place):
    """How many values agree; a difference ends the test."""
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        return sum(same(a[key], b[key], f"{place}.{key}") for key in a)
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return sum(same(x, y, f"{place}[{i}]") for i, (x, y) in enumerate(zip(a, b)))
    if isinstance(a, float) and isinstance(b, float):
        least = 1e-6  # what is nothing but the rounding of larger numbers has no digits to compare
        assert math.isclose(a, b, rel_tol=10.0**-DIGITS, abs_tol=least * 10.0**-DIGITS), f"{place}: {a!r} and {b!r}"
    else:
        assert a == b, f"{place}: {a!r} and {b!r}"
    return 1


def output(arguments):
    run = subprocess.run(arguments, capture_output=True, text=True, timeout=900)
    assert run.returncode in (0, 1), run.stderr
    return run.stdout


with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
    answers = [[pool.submit(output, [build, *arguments, "--json", "-"]) for build in builds] for arguments in COMMANDS]
    edges = [pool.submit(output, [build, "pulses", hurried, marker, "--to", "20 s", "--vcd", "-"]) for build in builds]
    for (command, *_), pair in zip(COMMANDS, answers):
        one, other = (json.loads(answer.result()) for answer in pair)
        print(f"{command}: {same(one, other, command)} values agree to {DIGITS} digits")
    assert edges[0].result() == edges[1].result(), "pulses: the lines differ"
    print("pulses: every edge is alike")
