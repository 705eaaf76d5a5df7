"""What a newcomer's machine is told: packages, build folders that cannot be used, compilers.

Argument: project folder. Programs of the system are stood in for by scripts; nothing is installed.
"""
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

project = Path(sys.argv[1])


def expect(claim, holds, seen):
    if not holds:
        sys.exit(f"not so: {claim}\n{seen}")


class Machine:
    """A folder of stand-ins that comes first on the path, and a copy of the scripts."""

    def __init__(self, folder):
        self.folder, self.tools = Path(folder), Path(folder) / "tools"
        self.tools.mkdir()
        (self.folder / ".cmake").mkdir()
        for name in ("need", "configure"):
            (self.folder / ".cmake" / name).write_text((project / ".cmake" / name).read_text())
            (self.folder / ".cmake" / name).chmod(0o755)

    def stands_in(self, name, script):
        (self.tools / name).write_text(f"#!/bin/bash\n{script}\n")
        (self.tools / name).chmod(0o755)

    def run(self, *command, path="/usr/bin:/bin"):
        done = subprocess.run(command, cwd=self.folder, env={"PATH": f"{self.tools}:{path}", "CALLS": str(self.folder / "calls")},
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        return done.returncode, done.stdout

    def calls(self):
        file = self.folder / "calls"
        return file.read_text() if file.exists() else ""


APT = """echo "apt-get $* $DEBIAN_FRONTEND" >>"$CALLS"
case "$*" in
  *--print-uris*) printf "'http://x/a.deb' a.deb 2000000 MD5Sum:0\\n'http://x/b.deb' b.deb 5000000 MD5Sum:0\\n" ;;
  *install*) [ -z "$BROKEN" ] || { echo "E: Unable to locate package wanted"; exit 100; }; echo "Setting up wanted" ;;
esac"""


def machine_of_packages(folder, user, apt=APT, sudo=None):
    machine = Machine(folder)
    machine.stands_in("dpkg-query", 'case "$*" in *there) echo "install ok installed" ;; *) exit 1 ;; esac')
    machine.stands_in("id", f'[ "$1" = -u ] && echo {user} || echo alice')
    machine.stands_in("apt-get", apt)
    for tool in ("bash", "env", "grep", "sed", "mktemp", "rm", "tr", "fold", "sleep", "tail"):
        machine.stands_in(tool, f'exec /usr/bin/{tool} "$@"' if tool != "bash" else 'exec /bin/bash "$@"')
    if sudo:
        machine.stands_in("sudo", sudo)
    return machine


def test_packages():
    need, line = ".cmake/need", "apt-get update && apt-get install -y --no-install-recommends wanted"
    with tempfile.TemporaryDirectory() as folder:
        machine = machine_of_packages(folder, 1000)
        expect("with nothing missing it is silent", machine.run(need, "there", path="") == (0, ""), "")
        status, said = machine.run(need, "there", "wanted", path="")
        expect("without sudo there is a line to copy", status == 2 and line in said, said)
        expect("without sudo nothing is called", machine.calls() == "", machine.calls())
    with tempfile.TemporaryDirectory() as folder:
        machine = machine_of_packages(folder, 1000, sudo='[ "$1" = -v ] && exit 0; echo "sudo $*" >>"$CALLS"; exec env -i PATH="$PATH" CALLS="$CALLS" "$@"')
        status, said = machine.run(need, "wanted", path="")
        expect("number and size are told", status == 0 and "2 packages, 7 MB" in said, said)
        asked = [call for call in machine.calls().splitlines() if call.startswith("sudo") and call.endswith("recommends wanted")]
        expect("sudo keeps apt quiet and waits for other installs",
               asked and all("DEBIAN_FRONTEND=noninteractive" in c and "DPkg::Lock::Timeout=300" in c for c in asked), machine.calls())
        expect("apt-get itself sees that it may not ask", all("noninteractive" in c for c in machine.calls().splitlines()), machine.calls())
    with tempfile.TemporaryDirectory() as folder:
        machine = machine_of_packages(folder, 1000, sudo="exit 1")
        status, said = machine.run(need, "wanted", path="")
        expect("where sudo refuses there is a line to copy", status == 2 and line in said, said)
    with tempfile.TemporaryDirectory() as folder:
        machine = machine_of_packages(folder, 0, apt="BROKEN=1\n" + APT)
        status, said = machine.run(need, "wanted", path="")
        expect("apt's reason is shown", status == 2 and "Unable to locate package wanted" in said, said)


def test_build_folders():
    with tempfile.TemporaryDirectory() as folder:
        machine = Machine(folder)
        machine.stands_in("cmake", "echo '-- note: told'; echo '-- not told'")
        status, said = machine.run(".cmake/configure", "demo")
        expect("notes of cmake are told, and nothing else", (status, said) == (0, "    told\n"), said)
        cache = machine.folder / "build/demo/CMakeCache.txt"
        cache.write_text("CMAKE_HOME_DIRECTORY:INTERNAL=/elsewhere\n")
        status, said = machine.run(".cmake/configure", "demo")
        expect("a folder that was moved is told, with the remedy", status == 2 and "/elsewhere" in said and "rm -r build/demo" in said, said)
        cache.write_text(f"CMAKE_HOME_DIRECTORY:INTERNAL={machine.folder}\n")
        expect("a folder made here is used", machine.run(".cmake/configure", "demo")[0] == 0, "")
        machine.stands_in("cmake", "echo 'no compiler'; exit 1")
        status, said = machine.run(".cmake/configure", "demo")
        expect("cmake's reason is shown", status == 2 and "no compiler" in said, said)
        # Root may write anywhere: then somebody else has to try.
        somebody = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"] if os.getuid() == 0 else []
        machine.folder.chmod(0o755)
        (machine.folder / "build").chmod(0o755 if somebody else 0o555)
        status, said = machine.run(*somebody, ".cmake/configure", "demo")
        (machine.folder / "build").chmod(0o755)
        expect("whose build/ is, and what to do", status == 2 and "belongs to" in said and "sudo rm -r build" in said, said)


def test_compilers():
    options, readme = ((project / name).read_text() for name in (".cmake/project_options.cmake", "README.md"))
    tested = re.search(r"set\(tested_compilers ([^)]*)\)", options).group(1).split()
    for compiler in tested:
        shown = compiler.replace("GNU-", "g++ ").replace("Clang-", "clang ")
        expect("the README names the compilers on which warnings are errors", re.search(rf"{re.escape(shown)}\b", readme), shown)


test_packages()
test_build_folders()
test_compilers()
print("newcomers are told")
