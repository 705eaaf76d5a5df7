"""The JSON of `check`, `capture` and `limits` obeys the shipped schemas. Arguments: program, folder of the schemas, configs."""

import json
import pathlib
import shutil
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
    with tempfile.TemporaryDirectory() as folder:  # wired otherwise, and run with half the acceleration
        trace, slow = pathlib.Path(folder, "trace.csv"), pathlib.Path(folder, "slow.toml")
        slow.write_text(plotter.read_text().replace('"1500 mm/s^2"', '"750 mm/s^2"').replace('"200 mm/s^2"', '"100 mm/s^2"'))
        for machine, cause in ((plotter, "other_channels"), (slow, "other_settings")):
            command = [program, "pulses", machine, labels, "--to", "5 s", "--csv", trace, "--catalogue", configs]
            subprocess.run(command, check=True, capture_output=True)
            if machine == plotter:
                head, rows = trace.read_text().split("\n", 1)
                head = head.replace("x_step,y_step", "y_step,x_step").replace("x_dir,y_dir", "y_dir,x_dir")
                trace.write_text(head + "\n" + rows)
            report = json_of("capture", plotter, trace, labels)
            assert report[cause], report["findings"]
            yield report
    with tempfile.NamedTemporaryFile("w", suffix=".csv") as trace:  # one motor of three
        print("time_s,x_step,x_dir\n0,0,1\n1,1,1", file=trace, flush=True)
        report = json_of("capture", plotter, trace.name)
        assert report["not_recorded"] == ["y", "z"], report["not_recorded"]
        yield report


for command, reports, fewest in (("check", reports_of_check(), 6), ("capture", reports_of_capture(), 6)):
    schema = pathlib.Path(schemas, f"{command}.schema.json")
    validator = jsonschema.Draft202012Validator(json.loads(schema.read_text()))
    checked = [report for report in reports if report is not None]
    assert len(checked) >= fewest, f"{len(checked)} reports of {command}"
    for report in checked:
        validator.validate(report)
    for broken in ({"verdict": "good"}, {"findings": [{}]}, {"motors": {"x": {}}}):
        assert list(validator.iter_errors(checked[-1] | broken)), f"{schema} accepts anything"
    print(f"{len(checked)} reports obey {schema}")


def schema_of(name):
    return json.loads(pathlib.Path(schemas, f"{name}.schema.json").read_text())


def obeys(name, report, *broken):
    """And is no schema that accepts anything."""
    known = {one["$id"]: one for one in map(schema_of, ("check", "limits"))}
    schema = schema_of(name)
    validator = jsonschema.Draft202012Validator(schema, resolver=jsonschema.RefResolver(schema["$id"], schema, store=known))
    validator.validate(report)
    for change in broken:
        assert list(validator.iter_errors(report | change)), f"{name}: {change}"
    return validator


def many(command, folder, *options):
    """Of a folder with a broken file in it."""
    pathlib.Path(folder, "broken.toml").write_text("name =")
    run = subprocess.run([program, command, folder, "--catalogue", configs, "--json", "-", *options], capture_output=True, text=True)
    assert run.returncode == 2, run.stderr
    return json.loads(run.stdout)


with tempfile.TemporaryDirectory() as folder:
    for file in (plotter, configs / "machines/tag-router.toml", labels, configs / "trials/tray-printer-y.toml"):
        shutil.copy(file, folder)
    summary = many("check", folder, "--no-dynamics")
    validator = obeys("checks", summary, {"verdict": "good"}, {"pairs": [{}]}, {"left_out": [{"file": "x"}]})
    assert len(summary["pairs"]) == 3 and len(summary["left_out"]) == 1 and summary["verdict"] == "unusable", summary
    for pair in summary["pairs"]:
        if pair["report"]:
            pair["report"]["verdict"] = "good"
    assert list(validator.iter_errors(summary)), "a pair's report is not looked at"

hurried = configs / "machines/tray-printer-hurried.toml"
run = subprocess.run([program, "check", plotter, "--compare", hurried, "--no-dynamics", "--json", "-"], capture_output=True, text=True)
compared = json.loads(run.stdout)
obeys("before_after", compared, {"differences": []}, {"after": {}}, {"findings_new": [1]})
assert compared["differences"][0]["what"] == "verdict", compared["differences"]

with tempfile.TemporaryDirectory() as folder:
    # One axis each, so that the search takes seconds.
    one_axis = plotter.read_text()[: plotter.read_text().index("[axes.y]")]
    pathlib.Path(folder, "by-deviation.toml").write_text(one_axis.replace('corner = "speed-step"', 'corner = "deviation"\ndeviation = "0.02 mm"'))
    pathlib.Path(folder, "by-step.toml").write_text(one_axis)
    pathlib.Path(folder, "line.nc").write_text("G21 G90\nG1 X50 F2400\nX10\n")
    values = many("limits", folder)
    obeys("limits_list", values, {"machines": [{}]}, {"left_out": [{"file": "x"}]})
    assert [one["limits"] is None for one in values["machines"]] == [True, False, False], values
    for one, rule in zip(values["machines"][1:], ("deviation", "speed-step")):
        obeys("limits", one["limits"], {"clear": "yes"}, {"corners": {}}, {"axes": {"x": {}}})
        assert one["limits"]["corners"]["rule"] == rule, one
print("a summary and two limits obey their schemas")
