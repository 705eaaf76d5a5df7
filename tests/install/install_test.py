"""The installed libraries are usable: the examples of DEVELOPERS.md are built against an install in an empty prefix and run.

Arguments: cmake, build folder, scratch folder, compiler, project folder. The examples are the blocks after "<!-- file: NAME -->".
"""
import math
import re
import shutil
import subprocess
import sys
from pathlib import Path

cmake, build, scratch, compiler, project = sys.argv[1], *map(Path, sys.argv[2:6])
prefix, source, consumers = scratch / "prefix", scratch / "consumers", scratch / "consumers-build"
MACHINE, PROGRAM = project / "configs/machines/tray-printer.toml", project / "configs/programs/wedge-marker.gcode"


def run(*command, **options):
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, **options)
    if done.returncode != 0:
        sys.exit(f"{' '.join(str(c) for c in command)}\nended with {done.returncode}:\n{done.stdout}{done.stderr}")
    return done.stdout


def expect(claim, holds):
    if not holds:
        sys.exit(f"not so: {claim}")


def check_install():
    installed = {str(file.relative_to(prefix)) for file in prefix.rglob("*")}
    expect("headers of both libraries are installed", {"include/planner/path/move.hpp", "include/stepper_sim/check/check.hpp"} <= installed)
    expect("headers of the program itself are not installed", not any(name.startswith("include/stepper_sim/cli") for name in installed))
    for header in (prefix / "include").rglob("*.hpp"):
        for needed in re.findall(r'^#include "(.*)"', header.read_text(), re.M):
            expect(f"{needed}, which {header.name} includes, is installed", f"include/{needed}" in installed)


def build_examples():
    examples = re.findall(r"^<!-- file: (\S+) -->\n```\w+\n(.*?)^```$", (project / "DEVELOPERS.md").read_text(), re.M | re.S)
    expect("DEVELOPERS.md shows both consumers", [name for name, _ in examples] == ["CMakeLists.txt", "check_machine.cpp", "step_times.cpp"])
    source.mkdir()
    for name, text in examples:
        (source / name).write_text(text)
    run(cmake, "-G", "Ninja", "-S", source, "-B", consumers, f"-DCMAKE_PREFIX_PATH={prefix}", f"-DCMAKE_CXX_COMPILER={compiler}")
    run(cmake, "--build", consumers)


def check_machine():
    # Outside the project the parts can only come from the catalogue whose path the package tells.
    machine = shutil.copy(MACHINE, scratch / MACHINE.name)
    told = run(consumers / "check_machine", machine, PROGRAM)
    expect("the installed library finds the parts and says what the installed program says",
           told == run(prefix / "bin/stepper_sim", "check", machine, PROGRAM))
    definitions = (consumers / "build.ninja").read_text()
    expect("the catalogue's path is that of the install", re.search(rf"CATALOGUE=.*{re.escape(str(prefix))}/share/", definitions))


def check_step_times():
    # 10 mm from rest to rest at up to 0.1 m/s and 3 m/s^2; the program begins and ends at rest.
    times = [float(t) for t in run(consumers / "step_times", input="G21 G90\nG1 X10 F6000\n").split()]
    expect("10 mm at 80 steps per mm are 800 steps", len(times) == 800)
    way, speed, acceleration = 0.01, 0.1, 3.0
    ramp = speed * speed / (2 * acceleration)
    whole = way / speed + speed / acceleration  # a trapezoid's duration
    for k, time in enumerate(times):
        at = (k + 0.5) / 80e3
        if at <= ramp:
            truth = math.sqrt(2 * at / acceleration)
        elif at <= way - ramp:
            truth = (at + ramp) / speed
        else:
            truth = whole - math.sqrt(2 * (way - at) / acceleration)
        # Printed with six digits.
        expect(f"step {k} at {truth} s, found {time}", math.isclose(time, truth, rel_tol=1e-5))


for folder in (prefix, source, consumers):
    shutil.rmtree(folder, ignore_errors=True)
run(cmake, "--install", build, "--prefix", prefix)
check_install()
build_examples()
check_machine()
check_step_times()
print("both libraries link from an empty prefix")
