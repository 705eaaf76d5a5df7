#include "stepper_sim/controller/ceiling.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "tests/stepper_sim/controller/example.hpp"

namespace stepper_sim::controller {
namespace {

planner::Time seconds(double value) {
    return planner::from_si<planner::Time>(value);
}

machine::ControllerPart line_controller() {
    machine::ControllerPart controller;
    controller.style = machine::ControllerStyle::line;
    controller.clock_hz = 16'000'000;
    controller.tick_hz = 2'000'000;
    controller.interrupt_cycles = 100;
    controller.event_cycles = 40;
    controller.motor_cycles = 20;
    controller.pulse_high = seconds(2e-6);
    return controller;
}

TEST(Ceiling, LineDividesTheProcessorByTheCyclesOfOneEvent) {
    machine::ControllerPart controller = line_controller();
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 1), 100'000.0);  // 16e6 / 160
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 3), 80'000.0);   // 16e6 / 200
    controller.processor_share = 0.5;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 3), 40'000.0);
}

TEST(Ceiling, LineWithSeveralStepsPerInterruptPaysTheEntryOnce) {
    machine::ControllerPart controller = line_controller();
    controller.max_steps_per_interrupt = 4;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 3), 16e6 * 4 / (100 + 4 * 100));
}

TEST(Ceiling, PulseWidthBindsAFastProcessor) {
    machine::ControllerPart controller = line_controller();
    controller.clock_hz = 1'000'000'000;
    // 2 us are 4 ticks of 2 MHz, one more for the low: 5 ticks.
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 1), 400'000.0);
    EXPECT_DOUBLE_EQ(tick_ceiling_hz(controller), 2e6);
}

TEST(Ceiling, ScheduledPaysAnInterruptForEveryMotor) {
    machine::ControllerPart controller = line_controller();
    controller.style = machine::ControllerStyle::scheduled;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 2), 16e6 / (2 * 160));
}

TEST(Ceiling, FixedRateIsTheBaseRateOrNothing) {
    machine::ControllerPart controller = line_controller();
    controller.style = machine::ControllerStyle::fixed_rate;
    controller.base_rate_hz = 60'000;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 4), 60'000.0);  // 13.2e6 of 16e6 cycles
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 8), 0.0);       // 18e6 cycles
}

TEST(Ceiling, WhatTheMakerPromisesBindsBesideTheCycles) {
    machine::ControllerPart controller = line_controller();
    controller.step_rate_max = planner::from_si<planner::Frequency>(60e3);
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 1), 60'000.0);
    controller.step_rate_total = planner::from_si<planner::Frequency>(150e3);
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 2), 60'000.0);
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 3), 50'000.0);
    controller.processor_share = 0.1;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 3), 8'000.0);
}

TEST(Ceiling, WhatTheMakerPromisesStandsWithoutCycles) {
    machine::ControllerPart controller = line_controller();
    controller.interrupt_cycles = controller.event_cycles = controller.motor_cycles = 0;
    controller.step_rate_total = planner::from_si<planner::Frequency>(100e3);
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 4), 25'000.0);
}

machine::DriverPart driver(double high_s, double low_s, double stated_hz) {
    machine::DriverPart part;
    part.step_high_min = seconds(high_s);
    part.step_low_min = seconds(low_s);
    part.step_rate_max = planner::from_si<planner::Frequency>(stated_hz);
    part.step_rate_stated = stated_hz > 0.0;
    return part;
}

// Stated rate against 1/(high + low), from the data sheets named; figures READ there.
TEST(Ceiling, DriverTakesTheLowerOfStatedRateAndPulseWidths) {
    // Texas Instruments SLVSA73F 7.6: 1.9 us, 1.9 us, 250 kHz; the widths alone give 263 kHz.
    EXPECT_DOUBLE_EQ(driver_ceiling_hz(driver(1.9e-6, 1.9e-6, 250e3), seconds(0.0)), 250e3);
    // The same with the controller's pulse of 4 us: 1/(4 us + 1.9 us).
    EXPECT_DOUBLE_EQ(driver_ceiling_hz(driver(1.9e-6, 1.9e-6, 250e3), seconds(4e-6)), 1.0 / 5.9e-6);
    // No rate stated, 1 us and 1 us: 500 kHz.
    EXPECT_DOUBLE_EQ(driver_ceiling_hz(driver(1e-6, 1e-6, 0.0), seconds(0.0)), 500e3);
}

TEST(Ceiling, DriverOnBothEdgesNeedsOnlyTheLongerHalf) {
    machine::DriverPart part = driver(1e-6, 2e-6, 0.0);
    part.both_edges = true;
    EXPECT_DOUBLE_EQ(driver_ceiling_hz(part, seconds(1e-6)), 500e3);
}

/// A steady run of `motors` motors, the busiest at `rate_hz`, the others hardly slower and hence at
/// times of their own.
ControllerTiming timing_at(const machine::ControllerPart& controller, int motors, double rate_hz) {
    machine::Machine machine = testing::example_machine(controller.style);
    machine.controller = controller;
    std::vector<double> steps;
    for (int m = 0; m < motors; ++m)
        steps.push_back(4000.0 - 3.0 * m);
    const planner::MotorMove move = testing::steady_move(machine, steps, rate_hz);
    PulseRun pulses(machine);
    pulses.push(std::span(&move, 1));
    pulses.finish();
    return pulses.controller();
}

// Half a percent covers the slower motors of `timing_at`, costs in 1/65536 tick, and whole ticks.
constexpr double kJustBelow = 0.995, kJustAbove = 1.01;

machine::ControllerPart random_controller(machine::ControllerStyle style) {
    machine::ControllerPart controller = line_controller();
    controller.style = style;
    controller.clock_hz = *rc::gen::inRange(4'000'000, 200'000'000);
    controller.tick_hz = 20'000'000;
    controller.interrupt_cycles = *rc::gen::inRange(20, 200);
    controller.event_cycles = *rc::gen::inRange(10, 100);
    controller.motor_cycles = *rc::gen::inRange(0, 100);
    controller.processor_share = *rc::gen::inRange(30, 101) / 100.0;
    controller.max_steps_per_interrupt = *rc::gen::element(1, 2, 4);
    controller.pulse_high = seconds(1e-7);
    return controller;
}

RC_GTEST_PROP(Ceiling, ModelIsOnTimeJustBelowAndLateJustAbove, ()) {
    const auto style =
        *rc::gen::element(machine::ControllerStyle::line, machine::ControllerStyle::scheduled);
    machine::ControllerPart controller = random_controller(style);
    const int motors = *rc::gen::inRange(1, testing::kMotors + 1);
    const double share = controller.processor_share;

    const double ceiling_hz = controller_ceiling_hz(controller, motors);
    const ControllerTiming below = timing_at(controller, motors, kJustBelow * ceiling_hz);
    RC_ASSERT(below.late_pulses == 0U);
    // A window of motors with times of their own may hold one step more of each but the last.
    const auto cycles = static_cast<double>(interrupt_cycles(controller, 1, 1));
    const double extra =
        style == machine::ControllerStyle::line
            ? 0.0
            : (motors - 1) * cycles / (static_cast<double>(controller.clock_hz) * kLoadWindow_s);
    RC_ASSERT(below.load_peak.value <= share + extra);
    RC_ASSERT(timing_at(controller, motors, kJustAbove * ceiling_hz).load_peak.value > share);

    // With the whole processor allowed, the ceiling is where steps begin to be late.
    controller.processor_share = 1.0;
    const double whole_hz = controller_ceiling_hz(controller, motors);
    RC_ASSERT(timing_at(controller, motors, kJustBelow * whole_hz).late_pulses == 0U);
    RC_ASSERT(timing_at(controller, motors, kJustAbove * whole_hz).late_pulses > 0U);
}

RC_GTEST_PROP(Ceiling, FixedRateModelOwesStepsJustAboveIt, ()) {
    machine::ControllerPart controller = random_controller(machine::ControllerStyle::fixed_rate);
    controller.base_rate_hz = *rc::gen::inRange(1'000, 50'000);
    const int motors = *rc::gen::inRange(1, testing::kMotors + 1);
    const double rate_hz = controller_ceiling_hz(controller, motors);
    if (rate_hz == 0.0) {
        const auto slow = 0.1 * static_cast<double>(controller.base_rate_hz);
        RC_ASSERT(timing_at(controller, motors, slow).load_peak.value > controller.processor_share);
        return;
    }
    const ControllerTiming below = timing_at(controller, motors, kJustBelow * rate_hz);
    RC_ASSERT(below.late_pulses == 0U);
    RC_ASSERT(below.load_peak.value <= controller.processor_share);
    RC_ASSERT(timing_at(controller, motors, kJustAbove * rate_hz).late_pulses > 0U);
}

}  // namespace
}  // namespace stepper_sim::controller
