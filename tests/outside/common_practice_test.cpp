// Rules of the trade and worked arithmetic that people compare their settings with. Each case says
// what its figure rests on: a source that was read, one recalled ("from memory"), or "common
// practice, no source".
#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "planner/program/program_reader.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/motor/asked_torque.hpp"
#include "stepper_sim/motor/available_torque.hpp"
#include "stepper_sim/motor/speed_step.hpp"

namespace {

using stepper_sim::machine::Axis;

constexpr double kMillimetre_m = 1e-3;
constexpr double kInch_m = 25.4e-3;
// Steps per length are whole numbers here; the tolerance is a few roundings of a double.
constexpr double kRounding = 1e-12;

Axis with_motor(int steps_per_turn, int microsteps) {
    Axis axis;
    axis.motor.steps_per_turn = steps_per_turn;
    axis.microsteps = microsteps;
    return axis;
}

Axis belt_axis(double pitch_m, int teeth, int steps_per_turn, int microsteps) {
    Axis axis = with_motor(steps_per_turn, microsteps);
    axis.drive.belt_pitch = planner::from_si<planner::Length>(pitch_m);
    axis.drive.pulley_teeth = teeth;
    return axis;
}

Axis screw_axis(double lead_m, int steps_per_turn, int microsteps) {
    Axis axis = with_motor(steps_per_turn, microsteps);
    axis.drive.screw_lead = planner::from_si<planner::Length>(lead_m);
    return axis;
}

double steps_per(const Axis& axis, double length_m) {
    return axis.mechanical_steps_per_m() * length_m;
}

void expect_steps(const Axis& axis, double length_m, double expected) {
    EXPECT_NEAR(steps_per(axis, length_m), expected, expected * kRounding);
}

}  // namespace

// Common practice, no source (plain arithmetic): a 2 mm belt on 20 teeth, 200 steps, 16 microsteps.
TEST(CommonPractice, TwoMillimetreBeltOnTwentyTeethNeedsEightyStepsPerMillimetre) {
    const Axis axis = belt_axis(2 * kMillimetre_m, 20, 200, 16);
    expect_steps(axis, kMillimetre_m, 80.0);
    // Gates Mectrol, Timing Belt Theory, eq. 1 (read): d = p z/pi, so 40 mm of belt pass in a turn.
    EXPECT_NEAR(axis.drive.travel_per_turn().value(), 0.040, 0.040 * kRounding);
}

// Belt axis resolution in inches: parts supplier's question page of newbiehack.com, "CNC questions
// and answers", question 6961 (read).
TEST(CommonPractice, InchBeltAxesGiveThePublishedStepsPerInch) {
    expect_steps(belt_axis(0.2 * kInch_m, 50, 200, 16), kInch_m, 320.0);
    expect_steps(belt_axis(0.2 * kInch_m, 20, 200, 16), kInch_m, 800.0);
    expect_steps(belt_axis(0.2 * kInch_m, 50, 200, 32), kInch_m, 640.0);
}

// Arithmetic; the coarse pitches M8 x 1.25 and M5 x 0.8 are those of ISO 261, from memory.
TEST(CommonPractice, ScrewAxesGiveTheStepsPerMillimetreOfTheirLead) {
    expect_steps(screw_axis(8 * kMillimetre_m, 200, 16), kMillimetre_m, 400.0);
    expect_steps(screw_axis(2 * kMillimetre_m, 200, 16), kMillimetre_m, 1600.0);
    expect_steps(screw_axis(1.25 * kMillimetre_m, 200, 16), kMillimetre_m, 2560.0);
    expect_steps(screw_axis(0.8 * kMillimetre_m, 200, 16), kMillimetre_m, 4000.0);
}

// Arithmetic: 400 full steps a turn instead of 200.
TEST(CommonPractice, MotorsOfNineTenthsOfADegreeDoubleTheSteps) {
    expect_steps(belt_axis(2 * kMillimetre_m, 20, 400, 16), kMillimetre_m, 160.0);
    expect_steps(screw_axis(8 * kMillimetre_m, 400, 16), kMillimetre_m, 800.0);
}

// Derived, arithmetic: step rate = steps per length x speed.
TEST(CommonPractice, StepRateIsStepsPerMillimetreTimesSpeed) {
    const double belt_rate_Hz = steps_per(belt_axis(2 * kMillimetre_m, 20, 200, 16), 0.300);
    const double screw_rate_Hz = steps_per(screw_axis(8 * kMillimetre_m, 200, 16), 0.010);
    EXPECT_NEAR(belt_rate_Hz, 24000.0, 24000.0 * kRounding);  // 300 mm/s
    EXPECT_NEAR(screw_rate_Hz, 4000.0, 4000.0 * kRounding);   // 10 mm/s
}

// Common practice, no source (arithmetic): a feed word in mm/min is 60 times the speed in mm/s.
TEST(CommonPractice, FeedWordIsSixtyTimesTheSpeedInMillimetresPerSecond) {
    const auto feed_m_s = [](const std::string& program) {
        planner::ProgramReader reader{planner::ProgramSettings{}};
        std::vector<planner::Command> commands;
        reader.read(program, commands);
        reader.finish(commands);
        EXPECT_EQ(commands.size(), 1U);
        return commands.empty() ? 0.0 : commands.front().feed_m_s;
    };
    EXPECT_NEAR(feed_m_s("G21 G1 X10 F12000\n"), 0.200, 0.200 * kRounding);
    EXPECT_NEAR(feed_m_s("G21 G1 X10 F18000\n"), 0.300, 0.300 * kRounding);
    // Arithmetic: the same word under G20 counts inches.
    EXPECT_NEAR(feed_m_s("G20 G1 X10 F600\n"), 0.254, 0.254 * kRounding);
}

// Common practice, no source: the instant speed step is set to 20 to 30 % of the working speed.
// Physics supports it at ordinary speeds and for ordinary loads only: the step a motor survives
// does not grow with the working speed, as the rule does.
TEST(CommonPractice, SpeedStepOfThirtyPercentHoldsAtOrdinaryWorkingSpeedsOnly) {
    const std::filesystem::path configs(STEPPER_SIM_CONFIGS);
    const auto read =
        stepper_sim::machine::read_machine(configs / "machines" / "tray-printer.toml", {configs});
    ASSERT_TRUE(read);
    const auto& machine = read.value();
    const auto loads = stepper_sim::motor::motor_loads(machine);
    const int bed = machine.program.axes.slot('Y');
    const auto& axis = machine.axes[static_cast<std::size_t>(bed)];
    const auto& motor = loads.motors[static_cast<std::size_t>(bed)];
    const auto torque = stepper_sim::motor::available_torque(axis.motor, axis.current, axis.supply);
    const double inertia_kg_m2 =
        motor.rotating_inertia_kg_m2 + stepper_sim::motor::load_inertia_kg_m2(loads, bed);
    const auto survives_m_s = [&](double speed_m_s) {
        const double low_Nm = torque.low_Nm(speed_m_s / motor.radius_m);
        return motor.radius_m * stepper_sim::motor::speed_step_rad_s(
                                    low_Nm, inertia_kg_m2, torque.constants().rotor_teeth, 0.0);
    };
    constexpr double kShare = 0.30;
    EXPECT_GT(survives_m_s(0.060), kShare * 0.060);
    EXPECT_GT(survives_m_s(0.150), kShare * 0.150);
    EXPECT_LT(survives_m_s(0.450), kShare * 0.450);
}
