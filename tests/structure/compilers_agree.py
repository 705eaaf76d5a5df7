"""Two builds of the program by different compilers say the same. Arguments: program, other program, project folder.

Words and whole numbers are equal; other numbers agree to DIGITS: sine and root differ in their last bits between compilers and
what they feed (a simulation, a search by bisection) may enlarge that.
"""

import json
import math
import pathlib
import subprocess
import sys

program, other, root = sys.argv[1:]
DIGITS = 9
configs = pathlib.Path(root, "configs")
machine, labels = (str(configs / name) for name in ("machines/label-plotter.toml", "programs/seed-labels.gcode"))
hurried, marker = (str(configs / name) for name in ("machines/tray-printer-hurried.toml", "programs/wedge-marker.gcode"))


def same(a, b, place):
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        return sum(same(a[key], b[key], f"{place}.{key}") for key in a)
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return sum(same(x, y, f"{place}[{i}]") for i, (x, y) in enumerate(zip(a, b)))
    if isinstance(a, float) and isinstance(b, float):
        assert math.isclose(a, b, rel_tol=10.0**-DIGITS, abs_tol=10.0**-DIGITS * 1e-6), f"{place}: {a!r} and {b!r}"
    else:
        assert a == b, f"{place}: {a!r} and {b!r}"
    return 1


def output(tool, arguments):
    run = subprocess.run([tool, *arguments], capture_output=True, text=True, timeout=600)
    assert run.returncode in (0, 1), run.stderr
    return run.stdout


for arguments in (["check", hurried, marker], ["check", machine, labels], ["check", machine], ["limits", machine], ["rates", hurried],
                  ["torque", hurried, marker, "--axis", "y"], ["capture", machine, str(configs / "captures/label-plotter.vcd"), labels]):
    texts = [json.loads(output(tool, [*arguments, "--json", "-"])) for tool in (program, other)]
    print(f"{arguments[0]}: {same(*texts, arguments[0])} values agree to {DIGITS} digits")
pulses = ["pulses", hurried, marker, "--to", "20 s", "--vcd", "-"]
assert output(program, pulses) == output(other, pulses), "pulses: the lines differ"
print("pulses: every edge is alike")
