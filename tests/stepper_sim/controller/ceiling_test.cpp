#include "stepper_sim/controller/ceiling.hpp"

#include <gtest/gtest.h>

namespace stepper_sim {
namespace {

planner::Time seconds(double value) {
    return planner::from_si<planner::Time>(value);
}

ControllerPart line_controller() {
    ControllerPart controller;
    controller.style = ControllerStyle::line;
    controller.clock_hz = 16'000'000;
    controller.tick_hz = 2'000'000;
    controller.interrupt_cycles = 100;
    controller.event_cycles = 40;
    controller.motor_cycles = 20;
    controller.pulse_high = seconds(2e-6);
    return controller;
}

TEST(Ceiling, LineDividesTheProcessorByTheCyclesOfOneEvent) {
    ControllerPart controller = line_controller();
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 1), 100'000.0);  // 16e6 / 160
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 3), 80'000.0);   // 16e6 / 200
    controller.processor_share = 0.5;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 3), 40'000.0);
    EXPECT_EQ(controller_ceiling(controller, 3).cause, CeilingCause::processor);
}

TEST(Ceiling, LineWithSeveralStepsPerInterruptPaysTheEntryOnce) {
    ControllerPart controller = line_controller();
    controller.max_steps_per_interrupt = 4;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 3), 16e6 * 4 / (100 + 4 * 100));
}

TEST(Ceiling, PulseWidthBindsAFastProcessor) {
    ControllerPart controller = line_controller();
    controller.clock_hz = 1'000'000'000;
    // 2 us are 4 ticks of 2 MHz, one more for the low: 5 ticks.
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 1), 400'000.0);
    EXPECT_EQ(controller_ceiling(controller, 1).cause, CeilingCause::pulse_width);
    EXPECT_DOUBLE_EQ(tick_ceiling_hz(controller), 2e6);
}

TEST(Ceiling, ScheduledPaysAnInterruptForEveryMotor) {
    ControllerPart controller = line_controller();
    controller.style = ControllerStyle::scheduled;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 2), 16e6 / (2 * 160));
}

TEST(Ceiling, FixedRateIsTheBaseRateOrNothing) {
    ControllerPart controller = line_controller();
    controller.style = ControllerStyle::fixed_rate;
    controller.base_rate_hz = 60'000;
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 4), 60'000.0);  // 13.2e6 of 16e6 cycles
    EXPECT_DOUBLE_EQ(controller_ceiling_hz(controller, 8), 0.0);       // 18e6 cycles
    EXPECT_EQ(controller_ceiling(controller, 8).cause, CeilingCause::processor);
}

DriverPart driver(double high_s, double low_s, double stated_hz) {
    DriverPart part;
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
    DriverPart part = driver(1e-6, 2e-6, 0.0);
    part.both_edges = true;
    EXPECT_DOUBLE_EQ(driver_ceiling_hz(part, seconds(1e-6)), 500e3);
}

}  // namespace
}  // namespace stepper_sim
