#include "stepper_sim/limits/compare_motors.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "stepper_sim/motor/voltage_limit.hpp"
#include "tests/stepper_sim/motor/motor_samples.hpp"

namespace stepper_sim::limits {
namespace {

using planner::from_si;
using samples::rms;
using samples::volts;

constexpr double kRounding = 1e-9;

/// One belt axis that asks little, with a driver and a controller fast enough not to bind.
machine::Machine bench_machine() {
    machine::Machine m = samples::machine({samples::belt_axis('X', 0.4, 3.0)});
    machine::Axis& axis = m.axes[0];
    axis.driver.name = "sample driver";
    axis.driver.step_high_min = from_si<planner::Time>(1e-6);
    axis.driver.step_low_min = from_si<planner::Time>(1e-6);
    axis.driver.step_rate_max = from_si<planner::Frequency>(500e3);
    axis.driver.supply_min = volts(8.0);
    axis.driver.supply_max = volts(50.0);
    axis.driver.current_max = rms(3.0);
    axis.driver.microsteps = {1, 2, 4, 8, 16};
    axis.settings = {80.0, from_si<planner::Speed>(0.15), from_si<planner::Acceleration>(3.0),
                     from_si<planner::Speed>(0.01)};
    m.controller.style = machine::ControllerStyle::ideal;
    m.controller.tick_hz = 100'000'000;
    return m;
}

Swap supply(const char* label, double v) {
    Swap swap;
    swap.label = label;
    swap.supply = volts(v);
    return swap;
}

const Candidate& find(const std::vector<Candidate>& candidates, const std::string& label) {
    return *std::find_if(candidates.begin(), candidates.end(),
                         [&](const Candidate& c) { return c.label == label; });
}

TEST(CompareMotors, CornerSpeedFollowsTheFormulaFromTwelveToFortyEightVolts) {
    const machine::Machine machine = bench_machine();
    const std::vector<Swap> swaps = {supply("12 V", 12.0), supply("48 V", 48.0)};
    const auto rows = compare_motors(machine, 0, swaps, {});
    const double radius = 0.04 / 6.283185307179586;
    for (const auto& [label, v] : {std::pair{"12 V", 12.0}, {"as it is", 24.0}, {"48 V", 48.0}}) {
        const double expected = motor::base_rate_rad_s(motor::motor_constants(samples::motor()),
                                                       rms(2.0).peak().value(), v) *
                                radius;
        EXPECT_NEAR(find(rows, label).base_speed_m_s, expected, kRounding);
    }
    EXPECT_EQ(rows.front().label, "48 V");
    EXPECT_EQ(rows.back().label, "12 V");
}

TEST(CompareMotors, DoublingCurrentDoublesTorqueAtLowSpeed) {
    Swap half;
    half.label = "1 A";
    half.current = rms(1.0);
    const auto rows = compare_motors(bench_machine(), 0, std::vector{half}, {{0.005}, 0.5, 0.2});
    const double ratio =
        find(rows, "as it is").points[0].nominal_Nm / find(rows, "1 A").points[0].nominal_Nm;
    constexpr double kKnee = 0.001;  // the rounded knee at rest, (R I/V)^4/4 of either torque
    EXPECT_NEAR(ratio, 2.0, kKnee);
}

TEST(CompareMotors, TopSpeedLeavesExactlyTheMarginOnTheLowCurve) {
    const auto rows = compare_motors(bench_machine(), 0, {}, {{0.1}, 3.0, 0.25});
    const Candidate& c = rows[0];
    ASSERT_EQ(c.binds, run::Binding::torque);
    const auto there =
        compare_motors(bench_machine(), 0, {}, {{c.top_speed_m_s}, 3.0, 0.25})[0].points[0];
    constexpr double kBisected = 1e-6;
    EXPECT_NEAR(there.margin_low, 0.25, kBisected);
    EXPECT_GT(c.top_speed_nominal_m_s, c.top_speed_m_s);
}

TEST(CompareMotors, StepRateBindsWhereTorqueWouldGoFurther) {
    machine::Machine machine = bench_machine();
    machine.axes[0].driver.step_rate_max = from_si<planner::Frequency>(8e3);
    const Candidate row = compare_motors(machine, 0, {}, {})[0];
    EXPECT_EQ(row.binds, run::Binding::driver);
    EXPECT_NEAR(row.top_speed_m_s, 0.1, kRounding);  // 8000 steps/s at 80 steps/mm
}

TEST(CompareMotors, EndOfThePublishedCurveIsNamedWhenItBinds) {
    machine::Machine machine = bench_machine();
    machine.axes[0].motor = samples::motor_with_curve();
    machine.axes[0].load.mass = from_si<planner::Mass>(0.05);
    const Candidate row = compare_motors(machine, 0, {}, {})[0];
    EXPECT_EQ(row.binds, run::Binding::curve_end);
    EXPECT_NE(row.torque_basis.find("published"), std::string::npos);
}

TEST(CompareMotors, NewMotorTakesItsRatedCurrentAsFarAsTheDriverGoes) {
    Swap strong;
    strong.label = "4 A motor";
    strong.motor = samples::motor();
    strong.motor->rated_current = rms(4.0);
    const machine::Axis axis = swapped(bench_machine().axes[0], strong);
    EXPECT_NEAR(axis.current.rms().value(), 3.0, kRounding);
}

TEST(CompareMotors, StepsPerMillimetreFollowMicrostepsAndGear) {
    Swap swap;
    swap.microsteps = 8;
    swap.gear_ratio = 3.0;
    EXPECT_NEAR(swapped(bench_machine().axes[0], swap).settings.steps_per_mm, 80.0 / 2.0 * 3.0,
                kRounding);
}

TEST(CompareMotors, BrokenRatingsAreNamedAndListedLast) {
    Swap bad = supply("60 V", 60.0);
    bad.microsteps = 32;
    bad.current = rms(3.5);
    const auto rows = compare_motors(bench_machine(), 0, std::vector{bad}, {});
    EXPECT_EQ(rows.back().label, "60 V");
    EXPECT_EQ(rows.back().problems.size(),
              4U);  // microsteps, supply, driver current, motor current
    EXPECT_TRUE(rows.front().problems.empty());
}

TEST(CompareMotors, CrossedBeltDiagonalAsksMoreThanTheAxisAlone) {
    machine::Machine machine = bench_machine();
    machine.axes.push_back(machine.axes[0]);
    machine.axes[1].letter = 'Y';
    machine.program.axes = planner::AxisSet("XY");
    const double alone = compare_motors(machine, 0, {}, {})[0].points[0].asked_Nm;
    machine.kinematics = planner::Kinematics::crossed_belt;
    machine.axes[1].load.mass = machine.axes[0].load.mass * 3.0;
    EXPECT_GT(compare_motors(machine, 0, {}, {})[0].points[0].asked_Nm, alone);
}

}  // namespace
}  // namespace stepper_sim::limits
