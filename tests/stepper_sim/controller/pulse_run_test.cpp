#include "stepper_sim/controller/pulse_run.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <map>

#include "tests/stepper_sim/controller/example.hpp"

namespace stepper_sim::controller {
namespace {

using testing::example_machine;
using testing::kMotors;
using testing::random_program;
using testing::steady_move;

constexpr double kRounding_hz = 1e-9;  // of some kilohertz

constexpr machine::ControllerStyle kAllStyles[] = {
    machine::ControllerStyle::ideal, machine::ControllerStyle::line,
    machine::ControllerStyle::fixed_rate, machine::ControllerStyle::scheduled};

struct Outcome {
    std::vector<Edge> edges;
    std::array<MotorTiming, kMotors> motors;
    ControllerTiming controller;
    std::int64_t tick_hz = 0;
};

Outcome run(const machine::Machine& machine, const std::vector<planner::MotorMove>& moves) {
    EdgeList list;
    PulseRun pulses(machine, &list);
    pulses.push(moves);
    pulses.finish();
    Outcome outcome{std::move(list.edges), {}, pulses.controller(), pulses.tick_hz()};
    for (int m = 0; m < kMotors; ++m) {
        outcome.motors[static_cast<std::size_t>(m)] = pulses.motor(m);
    }
    return outcome;
}

/// The account taken again from nothing but the edges.
struct Recount {
    std::int64_t steps = 0, net = 0;
    std::int64_t min_interval = INT64_MAX, min_high = INT64_MAX, min_low = INT64_MAX;
    std::int64_t min_setup = INT64_MAX, min_hold = INT64_MAX;
};

Recount recount(const std::vector<Edge>& edges, int motor) {
    Recount count;
    std::int64_t rise = -1, fall = -1, turn = -1;
    int direction = 1;
    for (const Edge& edge : edges) {
        if (edge.motor != motor) continue;
        if (edge.kind == EdgeKind::direction) {
            if (rise >= 0) count.min_hold = std::min(count.min_hold, edge.tick - rise);
            turn = edge.tick;
            direction = edge.direction;
        } else if (edge.kind == EdgeKind::step_fall) {
            count.min_high = std::min(count.min_high, edge.tick - rise);
            fall = edge.tick;
        } else {
            if (rise >= 0) {
                count.min_interval = std::min(count.min_interval, edge.tick - rise);
                count.min_low = std::min(count.min_low, edge.tick - fall);
            }
            if (turn >= 0) count.min_setup = std::min(count.min_setup, edge.tick - turn);
            turn = -1;
            rise = edge.tick;
            ++count.steps;
            count.net += direction;
        }
    }
    return count;
}

void expect_same(std::int64_t ticks, const Extreme& extreme, std::int64_t tick_hz) {
    if (ticks == INT64_MAX) return;
    RC_ASSERT(static_cast<double>(ticks) / static_cast<double>(tick_hz) == extreme.value);
}

RC_GTEST_PROP(PulseRun, AccountEqualsARecountOfTheEdges, ()) {
    const auto style = *rc::gen::elementOf(
        std::vector<machine::ControllerStyle>(std::begin(kAllStyles), std::end(kAllStyles)));
    const auto moves = random_program(*rc::gen::arbitrary<std::uint32_t>(), 30);
    const Outcome outcome = run(example_machine(style), moves);
    for (int m = 0; m < kMotors; ++m) {
        const MotorTiming& timing = outcome.motors[static_cast<std::size_t>(m)];
        const Recount count = recount(outcome.edges, m);
        RC_ASSERT(count.steps == timing.steps);
        RC_ASSERT(count.net == timing.net_steps);
        expect_same(count.min_interval, timing.min_interval_s, outcome.tick_hz);
        expect_same(count.min_high, timing.min_high_s, outcome.tick_hz);
        expect_same(count.min_low, timing.min_low_s, outcome.tick_hz);
        expect_same(count.min_setup, timing.min_setup_s, outcome.tick_hz);
        expect_same(count.min_hold, timing.min_hold_s, outcome.tick_hz);
    }
}

void expect_equal(const Extreme& a, const Extreme& b) {
    RC_ASSERT(a.value == b.value);
    RC_ASSERT(a.line == b.line);
    RC_ASSERT(a.time_s == b.time_s);
}

/// Curves of short chords at a steady feed, and whole-step moves along an axis, there and back: what
/// follows the first of them is like it.
std::vector<planner::MotorMove> steady_program(std::uint32_t seed) {
    std::mt19937 engine(seed);
    std::uniform_real_distribution<double> unit(0.0, 1.0);
    const bool whole_steps = unit(engine) < 0.3;
    const double chord_m = 1e-3 * std::pow(10.0, 1.2 * unit(engine) - 0.8);
    const double bend_rad = 0.1 * unit(engine);
    std::vector<planner::AxisArray> points_m{{}};
    double heading_rad = 6.3 * unit(engine);
    for (int i = 0; i < 200; ++i) {
        planner::AxisArray point_m = points_m.back();
        if (whole_steps) {
            point_m[0] = i % 2 == 0 ? 0.02 : 0.0;
        } else {
            heading_rad += bend_rad;
            point_m[0] += chord_m * std::cos(heading_rad);
            point_m[1] += chord_m * std::sin(heading_rad);
        }
        points_m.push_back(point_m);
    }
    return testing::plan(points_m, 0.02 + 0.2 * unit(engine));
}

// Without a sink, what can change no figure is passed over.
RC_GTEST_PROP(PulseRun, AccountIsTheSameWithAndWithoutASink, ()) {
    machine::Machine machine = example_machine(machine::ControllerStyle::line);
    // From far too slow to far more than enough for 20 kHz of up to three motors, 40 cycles.
    machine.controller.clock_hz = *rc::gen::element(400'000, 800'000, 2'000'000, 16'000'000);
    machine.controller.tick_hz = *rc::gen::element(250'000, 2'000'000, 84'000'000);
    machine.controller.max_steps_per_interrupt = *rc::gen::element(1, 4);
    const auto seed = *rc::gen::arbitrary<std::uint32_t>();
    const auto moves =
        *rc::gen::arbitrary<bool>() ? random_program(seed, 60, 0.2) : steady_program(seed);
    EdgeList list;
    PulseRun with(machine, &list), without(machine);
    with.push(moves);
    without.push(moves);
    with.finish();
    without.finish();
    for (int m = 0; m < kMotors; ++m) {
        const MotorTiming &a = with.motor(m), &b = without.motor(m);
        RC_ASSERT(a.steps == b.steps);
        RC_ASSERT(a.net_steps == b.net_steps);
        expect_equal(a.min_interval_s, b.min_interval_s);
        expect_equal(a.min_high_s, b.min_high_s);
        expect_equal(a.min_low_s, b.min_low_s);
        expect_equal(a.min_setup_s, b.min_setup_s);
        expect_equal(a.min_hold_s, b.min_hold_s);
    }
    expect_equal(with.controller().load_peak, without.controller().load_peak);
    expect_equal(with.controller().lateness_peak_s, without.controller().lateness_peak_s);
    RC_ASSERT(with.controller().late_pulses == without.controller().late_pulses);
}

RC_GTEST_PROP(PulseRun, EveryStyleEndsOnTheRoundedEndPosition, ()) {
    const auto moves = random_program(*rc::gen::arbitrary<std::uint32_t>(), 60);
    for (const machine::ControllerStyle style : kAllStyles) {
        const machine::Machine machine = example_machine(style);
        const Outcome outcome = run(machine, moves);
        for (std::size_t m = 0; m < kMotors; ++m) {
            const double scale = machine.axes[m].steps_per_m();
            RC_ASSERT(outcome.motors[m].net_steps ==
                      whole_steps(moves.back().motor_end_m[m], scale) -
                          whole_steps(moves.front().motor_start_m[m], scale));
        }
    }
}

RC_GTEST_PROP(PulseRun, EdgesAreInOrderAndKeepTheRulesOfTheLines, ()) {
    const auto moves = random_program(*rc::gen::arbitrary<std::uint32_t>(), 30, 0.2);
    for (const machine::ControllerStyle style : kAllStyles) {
        const machine::Machine machine = example_machine(style);
        const Outcome outcome = run(machine, moves);
        RC_ASSERT(std::is_sorted(outcome.edges.begin(), outcome.edges.end(),
                                 [](const Edge& a, const Edge& b) { return a.tick < b.tick; }));
        const double hz = static_cast<double>(outcome.tick_hz);
        for (int m = 0; m < kMotors; ++m) {
            const Recount count = recount(outcome.edges, m);
            if (count.steps == 0) continue;
            RC_ASSERT(static_cast<double>(count.min_high) >= 2e-6 * hz);
            RC_ASSERT(count.min_low >= 1);
            RC_ASSERT(static_cast<double>(count.min_setup) >= 1e-6 * hz);
            RC_ASSERT(static_cast<double>(count.min_hold) >= 1.5e-6 * hz);
        }
    }
}

TEST(PulseRun, NoPartOfAStepDriftsAwayOverManyTinyMoves) {
    // A third of a step at a time, 30 001 times: every move alone rounds to no step or one.
    const machine::Machine machine = example_machine(machine::ControllerStyle::line);
    std::vector<planner::AxisArray> points_m;
    for (int i = 0; i <= 30'001; ++i)
        points_m.push_back({i / (3.0 * 80'000.0)});
    PulseRun pulses(machine);
    pulses.push(testing::plan(points_m, 0.05));
    pulses.finish();
    EXPECT_EQ(pulses.motor(0).net_steps, 10'000);
    EXPECT_EQ(pulses.motor(0).steps, 10'000);
}

TEST(PulseRun, SteadySpeedGivesItsIntervalEverywhere) {
    // 10 kHz is 200 ticks of 2 MHz, also where one move follows the other.
    const machine::Machine machine = example_machine(machine::ControllerStyle::line);
    planner::MotorMove move = steady_move(machine, {1000.0, 250.0}, 10'000.0);
    PulseRun pulses(machine);
    pulses.push(std::span(&move, 1));
    for (std::size_t m = 0; m < 2; ++m) {
        move.motor_start_m[m] = move.motor_end_m[m];
        move.motor_end_m[m] *= 2.0;
    }
    move.start.advance(0.1);
    pulses.push(std::span(&move, 1));
    pulses.finish();
    EXPECT_DOUBLE_EQ(pulses.motor(0).min_interval_s.value, 100e-6);
    EXPECT_DOUBLE_EQ(pulses.motor(1).min_interval_s.value, 400e-6);
    EXPECT_DOUBLE_EQ(pulses.motor(0).peak_step_rate_hz.value, 10'000.0);
    EXPECT_NEAR(pulses.motor(1).peak_step_rate_hz.value, 2'500.0, kRounding_hz);
    EXPECT_EQ(pulses.motor(0).min_interval_s.line, 7U);
    EXPECT_EQ(pulses.controller().late_pulses, 0U);
}

TEST(PulseRun, NothingIsReportedForAMotorThatNeverMoves) {
    const machine::Machine machine = example_machine(machine::ControllerStyle::line);
    const planner::MotorMove move = steady_move(machine, {10.0}, 1000.0);
    PulseRun pulses(machine);
    pulses.push(std::span(&move, 1));
    pulses.finish();
    EXPECT_EQ(pulses.motor(1).steps, 0);
    EXPECT_EQ(pulses.motor(1).min_interval_s.value, kNoneSeen);
    EXPECT_EQ(pulses.motor(1).min_interval_s.line, 0U);
    EXPECT_EQ(pulses.motor(0).min_setup_s.value, kNoneSeen);  // it never turned round
}

TEST(PulseRun, AMoveOfAnyLengthIsHandedOnInBoundedBatches) {
    struct Counter final : EdgeSink {
        void take(std::span<const Edge> batch) override {
            most = std::max(most, batch.size());
            all += batch.size();
        }
        std::size_t most = 0, all = 0;
    } counter;
    const machine::Machine machine = example_machine(machine::ControllerStyle::line);
    const planner::MotorMove move = steady_move(machine, {1e5, 3e4}, 50'000.0);
    PulseRun pulses(machine, &counter);
    pulses.push(std::span(&move, 1));
    pulses.finish();
    EXPECT_EQ(counter.all, 2U * 130'000U);
    EXPECT_LT(counter.most, 10'000U);
}

TEST(PulseRun, ReversalsOnTheRoundingPointMakeNoPairsOfSteps) {
    // Back and forth by a tenth of a step around a half: a position rounded without a band would
    // step at every pass.
    for (const machine::ControllerStyle style :
         {machine::ControllerStyle::ideal, machine::ControllerStyle::scheduled}) {
        const double step_m = 1.0 / 80'000.0;
        std::vector<planner::AxisArray> points_m{{}};
        for (int i = 0; i < 100; ++i)
            points_m.push_back({(i % 2 == 0 ? 10.45 : 10.55) * step_m});
        PulseRun pulses(example_machine(style));
        pulses.push(testing::plan(points_m, 0.01));
        pulses.finish();
        EXPECT_EQ(pulses.motor(0).steps, 11);
        EXPECT_EQ(pulses.motor(0).net_steps, 11);
    }
}

}  // namespace
}  // namespace stepper_sim::controller
