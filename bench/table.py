#!/usr/bin/env python3
"""Prints what the hot parts cost beside their floors and references, as a Markdown table.

    bench/table.py BUILD [REPETITIONS]     BUILD: where the build is (build/bench); default 5 repetitions

Every row and what it is compared with come from one run of one program, repetitions interleaved; figures
are medians of processor time. Compare ratios, not times.
"""
import json
import os
import subprocess
import sys

# what, program, row, what it is compared with, how, target
ROWS = [
    ("read and parse a line", "read_bench", "read_commands", "newline_scan", "ratio", "5"),
    ("... fast_float scanner that only sums numbers", "read_bench", "fast_float_scan", "newline_scan", "ratio", ""),
    ("... strtod scanner that only sums numbers", "read_bench", "strtod_scan", "newline_scan", "ratio", ""),
    ("look-ahead, 16 moves, beyond copying them", "plan_bench", "look_ahead/mixed_step/16", "floor_copy_moves", "less", "15 ns"),
    ("look-ahead, unlimited, beyond copying them", "plan_bench", "look_ahead/mixed_step/0", "floor_copy_moves", "less", "15 ns"),
    ("profile from rest to rest, beside KDL", "plan_bench", "profile_from_rest", "profile_from_rest_kdl", "ratio", ""),
    ("motor moves, beyond copying them", "plan_bench", "motor_moves", "floor_copy_motor_moves", "less", ""),
    ("store loop, beside the square-root loop", "step_bench", "floor_store_per_step", "floor_sqrt_per_step", "ratio", ""),
    ("every step made and accounted, short moves", "step_bench", "short_line_every_step", "floor_sqrt_per_step", "ratio", "2"),
    ("every step made and accounted, long moves", "step_bench", "long_line_every_step", "floor_sqrt_per_step", "ratio", "2"),
    ("the same figures without making the steps, short moves", "step_bench", "short_line", "floor_sqrt_per_step", "ratio", "1.2"),
    ("the same figures without making the steps, long moves", "step_bench", "long_line", "floor_sqrt_per_step", "ratio", "1.2"),
    ("modal screen, a second of one axis", "dynamics_bench", "screen", "matrix_exponential", "ratio", "30 us"),
    ("full model, sine regulator, windows together", "dynamics_bench", "full_model_batch/dead_beat/process_time", "gsl_rk8pd", "ratio", "1500 us"),
    ("... beside odeint", "dynamics_bench", "full_model_batch/dead_beat/process_time", "odeint_dopri5", "ratio", ""),
    ("full model, chopper, windows together", "dynamics_bench", "full_model_batch/mixed_decay/process_time", "full_model_batch/dead_beat/process_time", "ratio", ""),
]
COUNTERS = {"read_bench": "per_line", "plan_bench": "per_move", "step_bench": "per_step", "dynamics_bench": "us_per_s"}
SCALE = {"dynamics_bench": (1.0, "us")}  # the others are seconds: shown as ns


def medians(program, repetitions):
    run = subprocess.run(
        [program, f"--benchmark_repetitions={repetitions}", "--benchmark_enable_random_interleaving=true",
         "--benchmark_report_aggregates_only=true", "--benchmark_format=json", "--benchmark_min_time=0.1"],
        stdout=subprocess.PIPE, check=True)
    counter = COUNTERS[os.path.basename(program)]
    rows = {}
    for row in json.loads(run.stdout)["benchmarks"]:
        if row.get("error_occurred"):
            raise SystemExit(f"{program}: {row['name']}: {row['error_message']}")
        if row["aggregate_name"] == "median":
            rows[row["run_name"]] = row[counter]
    return rows


def main():
    if len(sys.argv) not in (2, 3):
        raise SystemExit(__doc__)
    build, repetitions = sys.argv[1], int(sys.argv[2]) if len(sys.argv) == 3 else 5
    found = {name: medians(os.path.join(build, "bench", name), repetitions) for name in COUNTERS}
    print("| what | cost | compared with | its cost | result | target |")
    print("|---|---|---|---|---|---|")
    for what, program, row, other, how, target in ROWS:
        factor, unit = SCALE.get(program, (1e9, "ns"))
        cost, floor = found[program][row] * factor, found[program][other] * factor
        result = f"{cost / floor:.3g} times" if how == "ratio" else f"{cost - floor:.3g} {unit}"
        print(f"| {what} | {cost:.3g} {unit} | {other} | {floor:.3g} {unit} | {result} | {target} |")


if __name__ == "__main__":
    main()
