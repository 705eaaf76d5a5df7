/// Question: what does the whole of `check` cost per move of a print, and what do the dynamics add?
/// Three runs of the same program on the shipped tray printer: without dynamics; with, slowed to where
/// no window is suspicious; and with suspicious windows, the cap at its default. Floor: a newline scan
/// of the same bytes. Check value: the steps of the X motor. Run with --benchmark_repetitions=9.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "bench/print_program.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/run/run_program.hpp"

namespace stepper_sim {
namespace {

constexpr std::size_t kMoves = 200000;
constexpr double kFeed_mm_min = 3000.0;
constexpr double kCalmShare = 0.05;  // of the shipped accelerations and speed steps

const std::string& program_text() {
    static const std::string text = bench::print_program(kMoves, kFeed_mm_min);
    return text;
}

std::filesystem::path program_file() {
    static const std::filesystem::path file = [] {
        auto path = std::filesystem::temp_directory_path() / "stepper_sim-check-bench.gcode";
        std::ofstream(path, std::ios::binary) << program_text();
        return path;
    }();
    return file;
}

machine::Machine tray_printer(double share) {
    const std::filesystem::path configs = STEPPER_SIM_CONFIGS;
    machine::Machine machine =
        std::move(machine::read_machine(configs / "machines" / "tray-printer.toml", {configs}))
            .value();
    for (machine::Axis& axis : machine.axes) {
        axis.settings.max_acceleration *= share;
        axis.settings.speed_step *= share;
    }
    return machine;
}

void per_move(benchmark::State& state) {
    state.counters["per_move"] = benchmark::Counter(
        static_cast<double>(kMoves),
        benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void floor_newline_scan(benchmark::State& state) {
    const std::string& text = program_text();
    for (auto _ : state)
        benchmark::DoNotOptimize(std::count(text.begin(), text.end(), '\n'));
    per_move(state);
}

void check(benchmark::State& state, double share, bool dynamics) {
    const machine::Machine machine = tray_printer(share);
    const run::MotorModels models = run::motor_models(machine);
    run::RunOptions options;
    options.dynamics = dynamics;
    std::int64_t steps = 0;
    double suspicious = 0.0;
    for (auto _ : state) {
        const auto result = run::run_program(machine, models, program_file(), options);
        if (!result) {
            state.SkipWithError("the program was refused");
            return;
        }
        const std::int64_t now = result.value().motors[0].timing.steps;
        if (steps != 0 && steps != now) state.SkipWithError("the steps changed between runs");
        steps = now;
        suspicious = 0.0;
        for (const run::MotorSlip& motor : result.value().slips.motors)
            suspicious += static_cast<double>(motor.suspicious);
    }
    per_move(state);
    state.counters["suspicious"] = suspicious;
}

BENCHMARK(floor_newline_scan)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime()
    ->MeasureProcessCPUTime();
BENCHMARK_CAPTURE(check, calm_without_dynamics, kCalmShare, false)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime()
    ->MeasureProcessCPUTime();
BENCHMARK_CAPTURE(check, calm_with_dynamics, kCalmShare, true)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime()
    ->MeasureProcessCPUTime();
BENCHMARK_CAPTURE(check, without_dynamics, 1.0, false)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime()
    ->MeasureProcessCPUTime();
BENCHMARK_CAPTURE(check, with_dynamics, 1.0, true)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime()
    ->MeasureProcessCPUTime();

}  // namespace
}  // namespace stepper_sim
