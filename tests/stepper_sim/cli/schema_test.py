"""The JSON of `check` and `capture` obeys the shipped schemas. Arguments: program, folder of the schemas, configs."""

import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

program, schemas, configs = sys.argv[1:]
configs = pathlib.Path(configs)
plotter, labels = configs / "machines/label-plotter.toml", configs / "programs/seed-labels.gcode"


def json_of(command, *files):
    run = subprocess.run([program, command, "--json", "-", *map(str, files)], capture_output=True, text=True)
    if run.returncode == 2:
        return None
    assert run.returncode in (0, 1), run.stderr
    return json.loads(run.stdout)


def reports_of_check():
    for machine in sorted((configs / "machines").glob("*.toml")):
        yield json_of("check", machine)
        yield json_of("check", machine, configs / "programs/wedge-marker.gcode")  # None: a machine without the program's axes


def reports_of_capture():
    for program_file in ([], [labels], [configs / "programs/drill-tags.gcode"]):  # the last is not what ran
        yield json_of("capture", plotter, configs / "captures/label-plotter.vcd", *program_file)
    with tempfile.NamedTemporaryFile("w", suffix=".csv") as trace:  # at rest, never at a level, one pulse
        print("time_s,x_step,x_dir,y_step,y_dir,z_step,z_dir\n0,0,1,x,x,0,0\n1,0,1,x,x,1,0", file=trace, flush=True)
        yield json_of("capture", plotter, trace.name)
        yield json_of("capture", plotter, trace.name, labels)


for command, reports, fewest in (("check", reports_of_check(), 6), ("capture", reports_of_capture(), 5)):
    schema = pathlib.Path(schemas, f"{command}.schema.json")
    validator = jsonschema.Draft202012Validator(json.loads(schema.read_text()))
    checked = [report for report in reports if report is not None]
    assert len(checked) >= fewest, f"{len(checked)} reports of {command}"
    for report in checked:
        validator.validate(report)
    for broken in ({"verdict": "good"}, {"findings": [{}]}, {"motors": {"x": {}}}):
        assert list(validator.iter_errors(checked[-1] | broken)), f"{schema} accepts anything"
    print(f"{len(checked)} reports obey {schema}")
