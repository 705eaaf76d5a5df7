"""The README's examples are real: every block that starts with '$ stepper_sim' is run and its output compared.

Arguments: README, program, project folder. With --write as a fourth one the README is rewritten with what the program prints now.
A line <!-- N lines --> before a block keeps the first N lines of the output, followed by '...'.
"""

import pathlib
import re
import shlex
import subprocess
import sys

readme, program, root = sys.argv[1:4]
write = sys.argv[4:] == ["--write"]
text = pathlib.Path(readme).read_text()
block = re.compile(r"(?:<!-- (\d+) lines -->\n)?```console\n\$ (stepper_sim [^\n]*)\n(.*?)```\n", re.S)
wrong, seen = [], 0


def shown(match):
    global seen
    seen += 1
    keep, command, old = match.group(1), match.group(2), match.group(3)
    words = shlex.split(command)
    run = subprocess.run([program, *words[1:]], cwd=root, capture_output=True, text=True, timeout=300)
    out = run.stdout + run.stderr
    if keep and out.count("\n") > int(keep):
        out = "".join(line + "\n" for line in out.splitlines()[: int(keep)]) + "...\n"
    if out != old:
        wrong.append(command)
    head = f"<!-- {keep} lines -->\n" if keep else ""
    return f"{head}```console\n$ {command}\n{out}```\n"


new = block.sub(shown, text)
if write:
    pathlib.Path(readme).write_text(new)
elif wrong or not seen:
    sys.exit(f"README.md does not show what these print: {wrong}" if seen else "README.md has no examples")
print(f"{seen} examples of README.md are as printed")
