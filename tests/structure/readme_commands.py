"""The README's examples are real: every block that starts with '$ stepper_sim' shows what tests/golden has as the output of that command,
which golden_test.py compares with what the program prints.

Arguments: project folder. With --write as a second one the README is rewritten with the approved outputs.
A line <!-- N lines --> before a block keeps the first N lines of the output, followed by '...'.
"""

import pathlib
import re
import sys

root = pathlib.Path(sys.argv[1])
write = sys.argv[2:] == ["--write"]
readme, golden = root / "README.md", root / "tests/golden"
text = readme.read_text()
block = re.compile(r"(?:<!-- (\d+) lines -->\n)?```console\n\$ stepper_sim ([^\n]*)\n(.*?)```\n", re.S)
approved = re.compile(r"exit \d\n--- stdout\n(.*)--- stderr\n(.*)", re.S)
names = {}
for line in (golden / "commands.txt").read_text().splitlines():
    if line and not line.startswith("#"):
        name, command = line.split(": ", 1)
        names[command] = name
wrong, seen = [], 0


def shown(match):
    global seen
    seen += 1
    keep, command, old = match.groups()
    if command not in names:
        sys.exit(f"not in tests/golden/commands.txt: {command}")
    out = "".join(approved.match((golden / f"{names[command]}.txt").read_text()).groups())
    if keep and out.count("\n") > int(keep):
        out = "".join(line + "\n" for line in out.splitlines()[: int(keep)]) + "...\n"
    if out != old:
        wrong.append(command)
    head = f"<!-- {keep} lines -->\n" if keep else ""
    return f"{head}```console\n$ stepper_sim {command}\n{out}```\n"


new = block.sub(shown, text)
if write:
    readme.write_text(new)
elif wrong or not seen:
    sys.exit(f"README.md does not show what these print: {wrong}" if seen else "README.md has no examples")
print(f"{seen} examples of README.md are as printed")
