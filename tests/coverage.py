"""Prints which share of lines and branches the tests of a build with coverage ran, by folder. Arguments: build folder.

Run it after ctest; what earlier runs of the same build did counts too. Branches that only an exception takes are left out; of those that
the sanitizers add, some count.
"""

import collections
import gzip
import json
import pathlib
import subprocess
import sys
import tempfile

build = pathlib.Path(sys.argv[1]).resolve()
root = pathlib.Path(__file__).resolve().parents[1]
AIM = 0.90  # of the lines of these
MUST = ("planner", "stepper_sim/motor", "stepper_sim/dynamics", "stepper_sim/run", "stepper_sim/check")

folders = [build / "planner", build / "stepper_sim"]
if not any(file for folder in folders for file in folder.rglob("*.gcda")):
    sys.exit(f"no counts in {build}: configure with .cmake/asan.cmake and run ctest")

compiled = sorted(file for folder in folders for file in folder.rglob("*.gcno"))  # with those that no test runs
# A line of a header is in several objects: it ran if it ran in one.
lines = collections.defaultdict(dict)  # file -> line -> [ran, {branch: ran}]
with tempfile.TemporaryDirectory() as folder:
    subprocess.run(["gcov", "--json-format", "--branch-probabilities", "--hash-filenames", *compiled],
                   cwd=folder, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    for report in pathlib.Path(folder).glob("*.gcov.json.gz"):
        data = json.loads(gzip.decompress(report.read_bytes()))
        for file in data["files"]:
            name = pathlib.Path(data["current_working_directory"], file["file"]).resolve()
            if not name.is_relative_to(root) or name.is_relative_to(build):
                continue
            for line in file["lines"]:
                ran = lines[name.relative_to(root)].setdefault(line["line_number"], [False, {}])
                ran[0] |= line["count"] > 0
                for at, branch in enumerate(line["branches"]):
                    if not branch["throw"]:
                        ran[1][at] = ran[1].get(at, False) or branch["count"] > 0

sums = collections.defaultdict(lambda: [0, 0, 0, 0])
for name, of_file in lines.items():
    folder = name.parts[0] if name.parts[0] == "planner" else "/".join(name.parts[:2])
    for ran, branches in of_file.values():
        for at, value in enumerate((ran, 1, sum(branches.values()), len(branches))):
            sums[folder][at] += value

share = lambda covered, count: f"{covered / count:7.1%}" if count else "      -"
print(f"{'folder':24}{'lines':>8}{'branches':>10}")
for folder, (ran, all_lines, branches, all_branches) in sorted(sums.items()):
    if folder in MUST:
        print(f"{folder:24} {share(ran, all_lines)}   {share(branches, all_branches)}  of {all_lines} lines")
low = [folder for folder in MUST if sums[folder][0] < AIM * max(sums[folder][1], 1)]
if low:
    sys.exit(f"below {AIM:.0%} of lines: {', '.join(low)}")
