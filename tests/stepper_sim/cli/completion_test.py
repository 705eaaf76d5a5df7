"""Sources the completion scripts in real shells and presses the tab key, as it were.

Argument: the program. zsh is tried where it is installed (its scripts are read, its completion system is not driven)."""

import re
import shutil
import subprocess
import sys

program = sys.argv[1]


def made(shell):
    return subprocess.run([program, "completion", shell], check=True, capture_output=True, text=True).stdout


def offered(*words):
    """What bash offers for the last word."""
    line = " ".join(words)
    script = made("bash") + f"""
COMP_WORDS=({' '.join("'" + w + "'" for w in words)})
COMP_CWORD={len(words) - 1}
COMP_LINE='{line}' COMP_POINT={len(line)}
compopt() {{ echo "compopt $*"; }}
_stepper_sim
printf '%s\\n' "${{COMPREPLY[@]}}"
"""
    run = subprocess.run(["bash", "--norc", "-c", script], check=True, capture_output=True, text=True)
    assert run.stderr == "", run.stderr
    return [line for line in run.stdout.splitlines() if line]


help_text = subprocess.run([program, "--help"], check=True, capture_output=True, text=True).stdout
commands = re.findall(r"^  ([a-z]+) ", help_text[help_text.lower().index("subcommands"):], re.M)
assert "check" in commands and len(commands) > 4, commands

every = offered("stepper_sim", "")
assert set(every) == set(commands) | {"--help", "--version"}, (every, commands)
assert offered("stepper_sim", "che") == ["check"]

for command in commands:
    shown = subprocess.run([program, command, "--help"], check=True, capture_output=True, text=True).stdout
    options = set(re.findall(r"^  (?:-h,)?(--[a-z-]+)", shown, re.M))
    assert set(offered("stepper_sim", command, "--")) == options, (command, options)

assert offered("stepper_sim", "check", "--ht") == ["--html"]
assert offered("stepper_sim", "check", "--html", "") == []  # the shell's own file names
assert offered("stepper_sim", "check", "") == []
assert offered("stepper_sim", "check", "--margin", "") == ["compopt +o default"]  # no file names
assert offered("stepper_sim", "completion", "z") == ["zsh"]
assert offered("stepper_sim", "nonsense", "--") == []

zsh = shutil.which("zsh")
if zsh:
    script = made("zsh")
    run = subprocess.run([zsh, "-f", "-c", "autoload -Uz compinit; compinit -D -u; source /dev/stdin; print $_comps[stepper_sim]"],
                         input=script, capture_output=True, text=True)
    assert run.stdout.strip() == "_stepper_sim" and run.stderr == "", (run.stdout, run.stderr)
    for command in commands:
        assert f"    {command}) _arguments" in script, command
print(f"completion offers {len(commands)} commands and all their options" + ("" if zsh else "; no zsh here"))
