"""What every command prints and writes is as approved: each line of commands.txt is run, and its output stands in NAME.txt.

Arguments: program, project folder; with --write the approved texts are written anew: look at the difference before you commit it.
OUT in a command is a folder made for it; what stands there afterwards is part of the output.
"""

import difflib
import pathlib
import shlex
import subprocess
import sys
import tempfile

program, root = sys.argv[1:3]
write = sys.argv[3:] == ["--write"]
here = pathlib.Path(__file__).parent


def printed(command):
    with tempfile.TemporaryDirectory() as out:
        words = [word.replace("OUT", out) for word in shlex.split(command)]
        run = subprocess.run([program, *words], cwd=root, capture_output=True, text=True, timeout=300)
        text = f"exit {run.returncode}\n--- stdout\n{run.stdout}--- stderr\n{run.stderr}"
        for file in sorted(pathlib.Path(out).rglob("*")):
            text += f"--- {file.relative_to(out)}\n{file.read_text()}"
        return text.replace(out, "OUT")


wrong = []
names = set()
for line in (here / "commands.txt").read_text().splitlines():
    if not line or line.startswith("#"):
        continue
    name, command = line.split(": ", 1)
    names.add(name + ".txt")
    file = here / (name + ".txt")
    new = printed(command)
    if write:
        file.write_text(new)
        continue
    old = file.read_text() if file.exists() else ""
    if new != old:
        wrong.append(name)
        sys.stdout.writelines(
            difflib.unified_diff(old.splitlines(True), new.splitlines(True), f"{name}.txt", command, n=1))

left = {file.name for file in here.glob("*.txt")} - names - {"commands.txt"}
if left:
    sys.exit(f"no command writes {sorted(left)}")
if wrong:
    sys.exit(f"not as approved: {wrong}; see tests/golden/golden_test.py")
print(f"{len(names)} outputs as approved")
