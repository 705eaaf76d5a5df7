/// Question: what does a step cost, from motor moves to the account of intervals, load and lateness,
/// in each controller style, with every step made, and with edges handed out?
/// Included: step times, styles, processor model. Line stepping without edges passes over what can
/// change no figure; the rows "every_step" make every step. Not included: planning, and writing of files.
/// Input: many short moves (about 40 steps of the busiest motor) as in filled parts, and a few long
/// ones; planned beforehand.
/// Floors: one square root per step, written as 8 bytes into a ring that fits the first-level cache;
/// the 8 bytes alone.
/// The net steps are compared with the rounded end position, so a fast wrong answer fails.
/// Run with --benchmark_repetitions=9.
#include <benchmark/benchmark.h>

#include <array>
#include <cmath>

#include "stepper_sim/controller/emitter.hpp"
#include "tests/stepper_sim/controller/example.hpp"

namespace stepper_sim {
namespace {

using Moves = std::vector<planner::MotorMove>;

Moves program(int count, double size_m) {
    std::mt19937 engine(61);
    std::uniform_real_distribution<double> unit(-1.0, 1.0);
    std::vector<planner::AxisArray> points_m{{}};
    for (int i = 0; i < count; ++i) {
        points_m.push_back({points_m.back()[0] + size_m * unit(engine),
                            points_m.back()[1] + size_m * unit(engine),
                            points_m.back()[2] + 0.01 * size_m * unit(engine)});
    }
    return testing::plan(points_m, 0.15);
}

const Moves& short_moves() {
    static const Moves moves = program(20'000, 0.8e-3);
    return moves;
}

const Moves& long_moves() {
    static const Moves moves = program(200, 0.1);
    return moves;
}

void per_step(benchmark::State& state, std::int64_t steps) {
    state.counters["per_step"] = benchmark::Counter(
        static_cast<double>(steps),
        benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void floor_sqrt_per_step(benchmark::State& state) {
    constexpr std::int64_t kSteps = 1 << 20;
    std::array<double, 4096> ring{};
    for (auto _ : state) {
        for (std::int64_t k = 0; k < kSteps; ++k) {
            ring[static_cast<std::size_t>(k) % ring.size()] = std::sqrt(static_cast<double>(k));
        }
        benchmark::DoNotOptimize(ring);
    }
    per_step(state, kSteps);
}
BENCHMARK(floor_sqrt_per_step);

void floor_store_per_step(benchmark::State& state) {
    constexpr std::int64_t kSteps = 1 << 20;
    std::array<double, 4096> ring{};
    for (auto _ : state) {
        for (std::size_t begin = 0; begin < kSteps; begin += ring.size()) {
            for (std::size_t k = 0; k < ring.size(); ++k) {
                ring[k] = static_cast<double>(static_cast<std::int64_t>(begin + k));
            }
            benchmark::DoNotOptimize(ring);
        }
    }
    per_step(state, kSteps);
}
BENCHMARK(floor_store_per_step);

struct NoEdges final : controller::EdgeSink {
    void take(std::span<const controller::Edge> edges) override { count += edges.size(); }
    std::size_t count = 0;
};

void account(benchmark::State& state, machine::ControllerStyle style, const Moves& moves,
             bool edges) {
    const machine::Machine machine = testing::example_machine(style);
    std::int64_t steps = 0;
    for (auto _ : state) {
        NoEdges sink;
        controller::PulseRun pulses(machine, edges ? &sink : nullptr);
        pulses.push(moves);
        pulses.finish();
        steps = 0;
        for (std::size_t m = 0; m < testing::kMotors; ++m) {
            const controller::MotorTiming& timing = pulses.motor(static_cast<int>(m));
            steps += timing.steps;
            const double scale = machine.axes[m].steps_per_m();
            if (timing.net_steps != controller::whole_steps(moves.back().motor_end_m[m], scale)) {
                state.SkipWithError("net steps differ from the rounded end position");
            }
        }
    }
    per_step(state, steps);
}

/// The account as account() makes it, but without passing over anything.
void every_step(benchmark::State& state, const Moves& moves) {
    const machine::Machine machine = testing::example_machine(machine::ControllerStyle::line);
    std::vector<controller::StepEvent> events(1024);
    std::int64_t steps = 0;
    for (auto _ : state) {
        const auto style = controller::make_style(machine);
        controller::Emitter emitter(machine.controller, nullptr);
        for (const planner::MotorMove& move : moves) {
            const controller::MoveSteps& of_move = style->begin(move);
            if (of_move.moving == 0) continue;
            emitter.begin(of_move, move.line);
            while (const std::size_t count = style->events(events)) {
                emitter.take(std::span(events).first(count));
            }
        }
        steps = 0;
        for (std::size_t m = 0; m < testing::kMotors; ++m) {
            steps += emitter.motor(m).steps;
        }
        benchmark::DoNotOptimize(emitter.motor(0).min_interval_s.value);
    }
    per_step(state, steps);
}

void short_line_every_step(benchmark::State& state) {
    every_step(state, short_moves());
}
void long_line_every_step(benchmark::State& state) {
    every_step(state, long_moves());
}
BENCHMARK(short_line_every_step)->Unit(benchmark::kMillisecond);
BENCHMARK(long_line_every_step)->Unit(benchmark::kMillisecond);

void short_line(benchmark::State& state) {
    account(state, machine::ControllerStyle::line, short_moves(), false);
}
void short_line_edges(benchmark::State& state) {
    account(state, machine::ControllerStyle::line, short_moves(), true);
}
void short_scheduled(benchmark::State& state) {
    account(state, machine::ControllerStyle::scheduled, short_moves(), false);
}
void short_fixed_rate(benchmark::State& state) {
    account(state, machine::ControllerStyle::fixed_rate, short_moves(), false);
}
void long_line(benchmark::State& state) {
    account(state, machine::ControllerStyle::line, long_moves(), false);
}
BENCHMARK(short_line)->Unit(benchmark::kMillisecond);
BENCHMARK(short_line_edges)->Unit(benchmark::kMillisecond);
BENCHMARK(short_scheduled)->Unit(benchmark::kMillisecond);
BENCHMARK(short_fixed_rate)->Unit(benchmark::kMillisecond);
BENCHMARK(long_line)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace stepper_sim
