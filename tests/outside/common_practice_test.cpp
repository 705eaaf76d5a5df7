// Rules of the trade and worked arithmetic that people compare their settings with. Each case says
// what its figure rests on: a source that was read, one recalled ("from memory"), or "common
// practice, no source".
#include <gtest/gtest.h>

#include <string>

#include "stepper_sim/machine/machine.hpp"

namespace {

using stepper_sim::Axis;

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
