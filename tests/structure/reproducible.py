"""The same input gives the same bytes, on one core and on all of them. Arguments: program, project folder."""

import os
import pathlib
import subprocess
import sys
import tempfile

program, root = sys.argv[1:]
cores = os.sched_getaffinity(0)
machines, programs = (pathlib.Path(root, "configs", folder) for folder in ("machines", "programs"))
HURRIED = [str(machines / "tray-printer-hurried.toml"), str(programs / "wedge-marker.gcode")]  # slips: the full model runs
PLOTTER = str(machines / "label-plotter.toml")
ONE_AXIS = pathlib.Path(PLOTTER).read_text().split("[axes.y]")[0]  # limits of all axes take minutes
COMMANDS = {
    "check": ["check", *HURRIED, "--json", "check.json", "--html", "page.html", "--md", "check.md", "--svg", "pictures"],
    "check of settings": ["check", PLOTTER, "--json", "check.json"],
    "pulses": ["pulses", *HURRIED, "--vcd", "lines.vcd"],
    "limits": ["limits", "one-axis.toml", "--json", "limits.json"],
}


def written(arguments, on_cores):
    """What a run prints and every file it writes."""
    with tempfile.TemporaryDirectory() as folder:
        pathlib.Path(folder, "one-axis.toml").write_text(ONE_AXIS)
        run = subprocess.run([program, *arguments, "--catalogue", str(machines.parent)], cwd=folder, capture_output=True,
                             preexec_fn=lambda: os.sched_setaffinity(0, on_cores), timeout=600)
        assert run.returncode in (0, 1), run.stderr.decode()
        files = [file for file in pathlib.Path(folder).rglob("*") if file.is_file()]
        assert len(files) > 1, f"{arguments} wrote nothing"
        return {"standard output": run.stdout} | {str(file.relative_to(folder)): file.read_bytes() for file in files}


for name, arguments in COMMANDS.items():
    alone, together = written(arguments, {min(cores)}), written(arguments, cores)
    assert alone.keys() == together.keys(), name
    for file, content in alone.items():
        assert content == together[file], f"{name}: {file} differs"
    print(f"{name}: {len(alone)} outputs alike on 1 core and on {len(cores)}")
