"""Prints which share of lines and branches the tests of a clang build ran, by folder. Arguments: build folder.

Run it after ctest; delete BUILD/profile before, or what earlier runs did counts too.
"""

import collections
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys

build = pathlib.Path(sys.argv[1])
root = pathlib.Path(__file__).resolve().parents[1]
AIM = 0.90  # of the lines of these
MUST = ("planner", "stepper_sim/pulse", "stepper_sim/motor", "stepper_sim/dynamics", "stepper_sim/check")


def tool(name):
    """Of the same version as the compiler: the format of profiles changes."""
    compiler = re.search(r"^CMAKE_CXX_COMPILER:\w+=(.+)$", (build / "CMakeCache.txt").read_text(), re.M).group(1)
    version = subprocess.run([compiler, "-dumpversion"], capture_output=True, text=True, check=True).stdout.split(".")[0]
    found = shutil.which(f"{name}-{version}") or shutil.which(name, path=f"/usr/lib/llvm-{version}/bin") or shutil.which(name)
    return found or sys.exit(f"{name} is missing: install llvm-{version}")


profiles = sorted((build / "profile").glob("*.profraw"))
if not profiles:
    sys.exit(f"no profile in {build}/profile: configure with .cmake/clang.cmake and run ctest")
merged = build / "profile" / "all.profdata"
subprocess.run([tool("llvm-profdata"), "merge", "-sparse", *profiles, "-o", merged], check=True)
programs = [build / "stepper_sim/cli/stepper_sim"]
programs += [file for file in sorted((build / "tests").rglob("*_*")) if re.search("_(test|replay)$", file.name) and os.access(file, os.X_OK)]
objects = [word for file in programs if file.is_file() for word in ("-object", file)][1:]
data = subprocess.run([tool("llvm-cov"), "export", "-summary-only", "-ignore-filename-regex=/(tests|bench)/|^/usr/", f"-instr-profile={merged}", *objects],
                      capture_output=True, text=True, check=True).stdout

sums = collections.defaultdict(lambda: [0, 0, 0, 0])
for file in json.loads(data)["data"][0]["files"]:
    name = pathlib.Path(file["filename"]).resolve()
    if not name.is_relative_to(root) or name.is_relative_to(build.resolve()):
        continue
    parts = name.relative_to(root).parts
    folder = parts[0] if parts[0] == "planner" else "/".join(parts[:2])
    for at, kind in enumerate(("lines", "branches")):
        sums[folder][2 * at] += file["summary"][kind]["covered"]
        sums[folder][2 * at + 1] += file["summary"][kind]["count"]

share = lambda covered, count: f"{covered / count:7.1%}" if count else "      -"
print(f"{'folder':24}{'lines':>8}{'branches':>10}")
for folder, (lines, all_lines, branches, all_branches) in sorted(sums.items()):
    print(f"{folder:24} {share(lines, all_lines)}   {share(branches, all_branches)}  of {all_lines} lines")
low = [folder for folder in MUST if sums[folder][0] < AIM * max(sums[folder][1], 1)]
if low:
    print(f"below {AIM:.0%} of lines: {', '.join(low)}")
