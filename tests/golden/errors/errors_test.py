"""Every error a user can cause has an example in errors.txt: its id stands in the sources, and the lines it shows are as approved.

Arguments: program (the one that says ids, see with_ids.cpp), project folder; with --write the shown lines are written anew: look at the
difference before you commit it. The head of errors.txt says how an example is written.
"""

import concurrent.futures
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

program = os.path.abspath(sys.argv[1])
root = pathlib.Path(sys.argv[2])
write = sys.argv[3:] == ["--write"]
here = pathlib.Path(__file__).parent
table = here / "errors.txt"
approve = f"python3 tests/golden/errors/errors_test.py {sys.argv[1]} . --write"

ID = re.compile(r'"([a-z]+/[a-z0-9-]+)"')
# What looks like an id in the sources: units, types of content, what several ids begin with.
NOT_IDS = set("program/arc application/json deg/s in/min in/s kgf/mm lbf/in m/min m/s mm/min mm/s r/min rad/s turn/s".split())


def ids_in_sources():
    """id -> where it first stands"""
    found = {}
    for folder in ("planner", "stepper_sim"):
        for file in sorted((root / folder).rglob("*.[ch]pp")):
            for number, line in enumerate(file.read_text().splitlines(), 1):
                if not line.startswith("#include"):
                    for name in ID.findall(line.split("//")[0]):
                        found.setdefault(name, f"{file.relative_to(root)}:{number}")
    return {name: place for name, place in found.items() if name not in NOT_IDS}


def sections():
    """(head, [lines of an example]), each example beginning with its [id]"""
    parts = re.split(r"^(?=\[)", table.read_text(), flags=re.M)
    return parts[0], [part.splitlines() for part in parts[1:]]


def with_bytes(text):
    return text.encode().decode("unicode_escape").encode("latin-1")


def lay_out(lines, folder):
    """writes the files of an example; returns its command and whether a folder is closed"""
    command, closed, file = "", False, None
    for line in lines:
        if line.startswith("$ "):
            command = line[2:]
        elif text := re.fullmatch(r"(\d*)\|(?: (.*))?", line):
            with open(file, "ab") as out:
                out.write(with_bytes(text[2] or "") * int(text[1] or 1) + b"\n")
        elif change := re.fullmatch(r"(\S+): (.*) =>(?: (.*))?", line):
            base = folder / change[1]
            before, replaced = base.read_bytes(), with_bytes(change[2])
            if replaced not in before:
                raise ValueError(f"bench/{change[1]} does not hold '{change[2]}'")
            base.write_bytes(before.replace(replaced, with_bytes(change[3] or ""), 1))
        elif name := re.fullmatch(r"(\S+):", line):
            file = folder / name[1]
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text("")
        elif line.startswith("closed "):
            closed = True
            (folder / line[7:]).mkdir(mode=0)
        elif line and not line.startswith(("> ", "#")):
            raise ValueError(f"'{line}' is no line of an example; the head of {table.name} says what is")
    return command, closed


def run(lines):
    """the lines that an example shows, and what is wrong with it"""
    with tempfile.TemporaryDirectory() as name:
        shutil.copytree(here / "bench", name, dirs_exist_ok=True)
        try:
            command, closed = lay_out(lines[1:], pathlib.Path(name))
        except ValueError as error:
            return [], str(error)
        words = [program, *shlex.split(command)]
        if closed and os.geteuid() == 0:  # root opens everything unless it gives that up
            words = ["setpriv", "--bounding-set=-dac_override,-dac_read_search", *words]
        done = subprocess.run(words, cwd=name, capture_output=True, timeout=100)
    said = done.stderr.decode(errors="replace").splitlines()
    ids = {found[1] for line in said if (found := re.match(r"stepper_sim: \[(\S+)\] ", line))}
    wrong = ""
    if ids != {lines[0][1:-1]}:
        wrong = f"it shows the ids {sorted(ids)}, but an example shows its own and no other"
    elif done.returncode != 2:
        wrong = f"it ends with status {done.returncode}, but an error ends with 2"
    return [re.sub(r"^stepper_sim: \[\S+\] ", "stepper_sim: ", line) for line in said], wrong


faults = []
head, examples = sections()
with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
    results = list(pool.map(run, examples))
for lines, (said, wrong) in zip(examples, results):
    approved = [line[2:] for line in lines if line.startswith("> ")]
    if wrong:
        faults.append("\n  ".join([f"{lines[0]} in {table.name}: {wrong}; it said", *said]))
    elif said != approved and not write:
        faults.append("\n  ".join([f"{lines[0]} in {table.name} shows other lines than approved", *("- " + line for line in approved),
                                   *("+ " + line for line in said), f"if they are as you mean them: {approve}"]))
if write:
    parts = [head.strip().splitlines()]
    for lines, (said, wrong) in zip(examples, results):
        parts.append([line for line in lines if line and not line.startswith("> ")] + ["> " + line for line in said])
    table.write_text("\n\n".join("\n".join(part) for part in parts) + "\n")

known = ids_in_sources()
covered = {lines[0][1:-1] for lines in examples}
for name in sorted(known.keys() - covered):
    faults.append(f"""{known[name]}: "{name}" has no example.
  Add to tests/golden/errors/errors.txt a section that makes a user meet it (the head of that file says how):

    [{name}]
    machine.toml: TEXT OF bench/machine.toml => WHAT IS WRONG
    $ check machine.toml

  then {approve}
  and see that the line it adds helps a user. (If "{name}" is no id of a Diagnostic, name it in NOT_IDS of errors_test.py.)""")
for name in sorted(covered - known.keys()):
    faults.append(f'[{name}] in {table.name}: no source has "{name}"; rename the section, or remove it if the error is gone')
if faults:
    sys.exit("\n\n".join(faults))
print(f"{len(examples)} examples of {len(covered)} ids as approved")
