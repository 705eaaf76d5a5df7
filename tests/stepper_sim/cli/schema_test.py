"""The JSON of `check` obeys the shipped schema on every shipped machine. Arguments: program, schema, configs."""

import json
import pathlib
import subprocess
import sys

import jsonschema

program, schema_file, configs = sys.argv[1:]
schema = json.loads(pathlib.Path(schema_file).read_text())
validator = jsonschema.Draft202012Validator(schema)
checked = 0
for machine in sorted(pathlib.Path(configs, "machines").glob("*.toml")):
    for files in ([], [str(pathlib.Path(configs, "programs", "wedge-marker.gcode"))]):
        run = subprocess.run([program, "check", "--json", "-", str(machine), *files], capture_output=True, text=True)
        if run.returncode == 2 and files:
            continue  # a machine without the program's axes
        assert run.returncode in (0, 1), run.stderr
        validator.validate(json.loads(run.stdout))
        checked += 1
assert checked >= 6, checked
for broken in ({"verdict": "good"}, {"findings": [{}]}):
    assert list(validator.iter_errors(json.loads(run.stdout or "{}") | broken)), "the schema accepts anything"
print(f"{checked} reports obey {schema_file}")
