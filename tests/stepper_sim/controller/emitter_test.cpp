#include "stepper_sim/controller/emitter.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "tests/stepper_sim/controller/example.hpp"

namespace stepper_sim::controller {
namespace {

using testing::example_machine;
using testing::steady_move;

constexpr double kFineTicks = 1e-4;  // of the load: costs are rounded up to 1/65536 tick
constexpr double kPeriod_s = 50e-6;  // of the base rate of 20 kHz

constexpr double kTick_s = 0.5e-6;

machine::ControllerPart slow_controller(machine::ControllerStyle style) {
    machine::ControllerPart controller = example_machine(style).controller;
    controller.clock_hz = 1'000'000;  // a cycle is two ticks
    controller.interrupt_cycles = 20;
    controller.event_cycles = 10;
    controller.motor_cycles = 5;
    return controller;
}

std::vector<std::int64_t> rises(const std::vector<Edge>& edges) {
    std::vector<std::int64_t> ticks;
    for (const Edge& edge : edges) {
        if (edge.kind == EdgeKind::step_rise) ticks.push_back(edge.tick);
    }
    return ticks;
}

RC_GTEST_PROP(Emitter, LatenessFollowsTheRecursion, ()) {
    const machine::ControllerPart controller = slow_controller(machine::ControllerStyle::line);
    const double cost = 2.0 * (20 + 10 + 5);  // ticks
    const auto spacings = *rc::gen::container<std::vector<int>>(rc::gen::inRange(20, 160));
    EdgeList list;
    Emitter emitter(controller, &list);
    MoveSteps steps;
    steps.set(0, static_cast<std::int64_t>(spacings.size()));
    emitter.begin(steps, 1);
    std::vector<StepEvent> events;
    std::vector<double> expected;
    std::int64_t due = 0;
    double late = -cost;  // nothing before the first
    std::uint64_t late_pulses = 0;
    for (const int spacing : spacings) {
        due += spacing;
        late = std::max(0.0, late + cost - spacing);
        late_pulses += late > 0.0 ? 1 : 0;
        events.push_back({due, 1, 1, 0});
        expected.push_back(static_cast<double>(due) + late);
    }
    emitter.take(events);
    emitter.finish();
    const auto actual = rises(list.edges);
    RC_ASSERT(actual.size() == expected.size());
    for (std::size_t i = 0; i < actual.size(); ++i) {
        RC_ASSERT(static_cast<double>(actual[i]) == expected[i]);
    }
    RC_ASSERT(emitter.controller().late_pulses == late_pulses);
}

TEST(Emitter, AShortBurstDelaysTheStepsAfterItUntilTheProcessorHasCaughtUp) {
    // Cost 70 ticks; three steps 50 apart, then 100 apart: late by 20, 40, then 10, then none.
    EdgeList list;
    Emitter emitter(slow_controller(machine::ControllerStyle::line), &list);
    MoveSteps steps;
    steps.set(0, 5);
    emitter.begin(steps, 3);
    const std::vector<StepEvent> events{
        {1000, 1, 1, 0}, {1050, 1, 1, 0}, {1100, 1, 1, 0}, {1200, 1, 1, 0}, {1300, 1, 1, 0}};
    emitter.take(events);
    emitter.finish();
    EXPECT_EQ(rises(list.edges), (std::vector<std::int64_t>{1000, 1070, 1140, 1210, 1300}));
    EXPECT_EQ(emitter.controller().late_pulses, 3U);
    EXPECT_DOUBLE_EQ(emitter.controller().lateness_peak_s.value, 40 * kTick_s);
    EXPECT_EQ(emitter.controller().lateness_peak_s.line, 3U);
}

TEST(Emitter, StepsThatShareAnInterruptFollowEachOtherAtTheCostOfOne) {
    // One step of one motor: 15 cycles are 30 ticks.
    EdgeList list;
    Emitter emitter(slow_controller(machine::ControllerStyle::line), &list);
    MoveSteps steps;
    steps.set(0, 4);
    emitter.begin(steps, 1);
    const std::vector<StepEvent> events{
        {1000, 1, 2, 0}, {1045, 1, 0, 0}, {1090, 1, 2, 0}, {1135, 1, 0, 0}};
    emitter.take(events);
    emitter.finish();
    // The interrupt takes 20 + 2 * 15 cycles = 100 ticks: the second begins 10 late.
    EXPECT_EQ(rises(list.edges), (std::vector<std::int64_t>{1000, 1030, 1100, 1130}));
    EXPECT_DOUBLE_EQ(emitter.motor(0).min_interval_s.value, 30 * kTick_s);
}

TEST(Emitter, ATurnWaitsForHoldAndSetUp) {
    // Hold 3 ticks, set-up 2: a reversal 4 ticks after a rise leaves one tick later.
    machine::ControllerPart controller =
        example_machine(machine::ControllerStyle::scheduled).controller;
    controller.pulse_high = planner::from_si<planner::Time>(kTick_s);
    controller.clock_hz = 0;
    EdgeList list;
    Emitter emitter(controller, &list);
    MoveSteps up, down;
    up.set(0, 1);
    down.set(0, -1);
    const StepEvent first{100, 1, 1, 0}, second{104, 1, 1, 0};
    emitter.begin(up, 1);
    emitter.take(std::span(&first, 1));
    emitter.begin(down, 2);
    emitter.take(std::span(&second, 1));
    emitter.finish();
    ASSERT_EQ(list.edges.size(), 5U);
    EXPECT_EQ(list.edges[2].kind, EdgeKind::direction);
    EXPECT_EQ(list.edges[2].tick, 103);
    EXPECT_EQ(list.edges[2].direction, -1);
    EXPECT_EQ(list.edges[3].tick, 105);
    EXPECT_DOUBLE_EQ(emitter.motor(0).min_hold_s.value, 3 * kTick_s);
    EXPECT_DOUBLE_EQ(emitter.motor(0).min_setup_s.value, 2 * kTick_s);
}

TEST(Emitter, SteadyLoadIsCostTimesRate) {
    machine::Machine machine = example_machine(machine::ControllerStyle::line);
    machine.controller = slow_controller(machine::ControllerStyle::line);
    const planner::MotorMove move = steady_move(machine, {500.0, 100.0}, 10'000.0);
    PulseRun pulses(machine);
    pulses.push(std::span(&move, 1));
    pulses.finish();
    // Two motors: 40 cycles of 1 us, 10 000 times a second.
    EXPECT_NEAR(pulses.controller().load_peak.value, 0.4, kFineTicks);
    EXPECT_EQ(pulses.controller().load_peak.line, 7U);
}

TEST(Emitter, FixedRateLoadIsThePeriodicInterrupts) {
    machine::Machine machine = example_machine(machine::ControllerStyle::fixed_rate);
    machine.controller = slow_controller(machine::ControllerStyle::fixed_rate);
    machine.controller.base_rate_hz = 20'000;
    const planner::MotorMove move = steady_move(machine, {50.0, 10.0}, 1'000.0);
    PulseRun pulses(machine);
    pulses.push(std::span(&move, 1));
    pulses.finish();
    EXPECT_NEAR(pulses.controller().load_peak.value, 0.8, kFineTicks);  // 40 us of every 50 us
    EXPECT_EQ(pulses.controller().late_pulses, 0U);
}

TEST(Emitter, FixedRateAboveItsBaseRateOwesStepsAndSaysSo) {
    machine::Machine machine = example_machine(machine::ControllerStyle::fixed_rate);
    machine.controller.base_rate_hz = 20'000;
    const planner::MotorMove move = steady_move(machine, {1000.0}, 25'000.0);
    PulseRun pulses(machine);
    pulses.push(std::span(&move, 1));
    pulses.finish();
    EXPECT_EQ(pulses.motor(0).steps, 1000);
    EXPECT_DOUBLE_EQ(pulses.motor(0).min_interval_s.value, 50e-6);
    EXPECT_GT(pulses.controller().late_pulses, 900U);
    // 1000 steps take 50 ms instead of 40 ms; the last is late by that, give or take a period.
    EXPECT_NEAR(pulses.controller().lateness_peak_s.value, 10e-3, kPeriod_s);
}

}  // namespace
}  // namespace stepper_sim::controller
