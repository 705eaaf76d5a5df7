#include "stepper_sim/motor/asked_torque.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

#include "planner/kinematics/kinematics.hpp"
#include "tests/stepper_sim/motor/motor_samples.hpp"

namespace stepper_sim::motor {
namespace {

using planner::AxisArray;
using samples::belt_axis;
using samples::machine;
using samples::screw_axis;

constexpr double kRounding = 1e-9;
constexpr double kBeltRadius_m = 0.04 / (2.0 * std::numbers::pi);  // 2 mm x 20 teeth
constexpr double kRotor_kg_m2 = 6e-6;
constexpr double kGravity_m_s2 = 9.80665;

double in(double low, double high) {
    return low + (high - low) * (*rc::gen::inRange(0, 1000001)) * 1e-6;
}

TEST(AskedTorque, BeltAddsRotorMassAndFriction) {
    const MotorLoads loads = motor_loads(machine({belt_axis('X', 0.5, 3.0)}));
    const double expected = kRotor_kg_m2 * 2.0 / kBeltRadius_m + (0.5 * 2.0 + 3.0) * kBeltRadius_m;
    EXPECT_NEAR(asked_Nm(loads, 0, AxisArray{0.1}, AxisArray{2.0}), expected, kRounding);
    const double braking =
        std::fabs(-kRotor_kg_m2 * 2.0 / kBeltRadius_m + (-0.5 * 2.0 + 3.0) * kBeltRadius_m);
    EXPECT_NEAR(asked_Nm(loads, 0, AxisArray{0.1}, AxisArray{-2.0}), braking, kRounding);
}

TEST(AskedTorque, StartingFromRestMeetsTheFullFriction) {
    const MotorLoads loads = motor_loads(machine({belt_axis('X', 0.5, 3.0)}));
    EXPECT_NEAR(asked_Nm(loads, 0, AxisArray{}, AxisArray{-2.0}),
                asked_Nm(loads, 0, AxisArray{-0.1}, AxisArray{-2.0}), kRounding);
    EXPECT_EQ(asked_Nm(loads, 0, AxisArray{}, AxisArray{}), 0.0);
}

TEST(AskedTorque, SpeedMatchesTheTravelPerTurn) {
    const MotorLoads loads = motor_loads(machine({belt_axis('X', 0.5, 3.0)}));
    EXPECT_NEAR(rate_rad_s(loads, 0, AxisArray{0.04}), 2.0 * std::numbers::pi,
                kRounding);  // one turn a second
}

TEST(AskedTorque, GearDividesLoadTorqueAndReflectsInertiaBySquare) {
    machine::Axis geared = belt_axis('X', 0.5, 0.0);
    geared.drive.gear_ratio = 3.0;
    const MotorLoads plain = motor_loads(machine({belt_axis('X', 0.5, 0.0)}));
    const MotorLoads loads = motor_loads(machine({geared}));
    EXPECT_NEAR(load_inertia_kg_m2(loads, 0) * 9.0, load_inertia_kg_m2(plain, 0), kRounding);
    EXPECT_NEAR(load_inertia_kg_m2(plain, 0), 0.5 * kBeltRadius_m * kBeltRadius_m, kRounding);
}

TEST(AskedTorque, ScrewRaisesThroughItsEfficiencyAndLowersThroughItsBackEfficiency) {
    const double eta = 0.8;
    machine::Axis z = screw_axis('Z', 2.0, 0.0, 8e-3, eta);
    z.load.vertical = true;
    const MotorLoads loads = motor_loads(machine({z}));
    const double weight_Nm = 2.0 * kGravity_m_s2 * 8e-3 / (2.0 * std::numbers::pi);
    EXPECT_NEAR(asked_Nm(loads, 0, AxisArray{0.01}, AxisArray{}), weight_Nm / eta, kRounding);
    EXPECT_NEAR(asked_Nm(loads, 0, AxisArray{-0.01}, AxisArray{}), weight_Nm * (2.0 - 1.0 / eta),
                kRounding);
    EXPECT_NEAR(asked_Nm(loads, 0, AxisArray{}, AxisArray{}), weight_Nm * (2.0 - 1.0 / eta),
                kRounding);
}

TEST(AskedTorque, SelfLockingScrewHoldsForNothingAndMustBePushedDown) {
    machine::Axis z = screw_axis('Z', 2.0, 0.0, 2e-3, 0.4);
    z.load.vertical = true;
    const MotorLoads loads = motor_loads(machine({z}));
    const double weight_Nm = 2.0 * kGravity_m_s2 * 2e-3 / (2.0 * std::numbers::pi);
    EXPECT_EQ(asked_Nm(loads, 0, AxisArray{}, AxisArray{}), 0.0);
    EXPECT_NEAR(asked_Nm(loads, 0, AxisArray{-0.01}, AxisArray{}), 0.5 * weight_Nm,
                kRounding);  // |2 - 1/0.4| = 0.5
}

TEST(AskedTorque, ScrewInertiaCountsOncePerMotorAndMotorsShareTheLoad) {
    machine::Axis z = screw_axis('Z', 2.0, 5.0, 8e-3, 1.0);
    z.drive.screw_inertia = planner::from_si<planner::Inertia>(4e-6);
    const MotorLoads one = motor_loads(machine({z}));
    z.motor_count = 2;
    const MotorLoads two = motor_loads(machine({z}));
    const AxisArray v{0.01};
    const AxisArray a{1.0};
    const double turning = (kRotor_kg_m2 + 4e-6) * 1.0 / (8e-3 / (2.0 * std::numbers::pi));
    EXPECT_NEAR(asked_Nm(two, 0, v, a) - turning, 0.5 * (asked_Nm(one, 0, v, a) - turning),
                kRounding);
}

TEST(AskedTorque, CrossedBeltSharesAlongAnAxisAndNotAlongADiagonal) {
    const MotorLoads loads = motor_loads(machine(
        {belt_axis('X', 1.0, 0.0), belt_axis('Y', 1.0, 0.0)}, planner::Kinematics::crossed_belt));
    const double turning = kRotor_kg_m2 / kBeltRadius_m;  // per m/s^2 of belt
    for (const int motor : {0, 1}) {
        EXPECT_NEAR(asked_Nm(loads, motor, AxisArray{0.1}, AxisArray{1.0}),
                    turning + 0.5 * kBeltRadius_m, kRounding);
    }
    const AxisArray diagonal{0.5, 0.5};
    EXPECT_NEAR(asked_Nm(loads, 0, diagonal, diagonal), turning + 0.5 * kBeltRadius_m,
                kRounding);  // q'' = 1, force (0.5 + 0.5)/2
    EXPECT_NEAR(asked_Nm(loads, 1, diagonal, diagonal), 0.0, kRounding);
}

RC_GTEST_PROP(AskedTorque, CrossedBeltKeepsPower, ()) {
    const double mass_x = in(0.1, 2.0);
    const double mass_y = in(0.1, 2.0);
    machine::Machine m =
        machine({belt_axis('X', mass_x, in(0.0, 5.0)), belt_axis('Y', mass_y, in(0.0, 5.0))},
                planner::Kinematics::crossed_belt);
    for (machine::Axis& axis : m.axes)
        axis.motor.rotor_inertia = planner::from_si<planner::Inertia>(1e-15);
    const MotorLoads loads = motor_loads(m);
    const AxisArray v{in(0.01, 0.3), in(-0.3, -0.01)};
    const AxisArray a{in(-5.0, 5.0), in(-5.0, 5.0)};
    double motor_W = 0.0;
    double axis_W = 0.0;
    for (const std::size_t i : {0U, 1U}) {
        const MotorLoad& motor = loads.motors[i];
        double belt_N = 0.0;
        for (const std::size_t k : {0U, 1U})
            belt_N += motor.share[k] *
                      loads.axes[motor.axis[k]].force_N(v[motor.axis[k]], a[motor.axis[k]]);
        const double shaft = rate_rad_s(loads, static_cast<int>(i), v) * kBeltRadius_m;
        motor_W += belt_N * shaft;
        axis_W += loads.axes[i].force_N(v[i], a[i]) * v[i];
        RC_ASSERT(std::fabs(asked_Nm(loads, static_cast<int>(i), v, a) -
                            std::fabs(belt_N) * kBeltRadius_m) < kRounding);
    }
    RC_ASSERT(std::fabs(motor_W - axis_W) < kRounding);
    const AxisArray belts = planner::to_motors(m.kinematics, planner::AxisSet("XY"), v);
    RC_ASSERT(std::fabs(rate_rad_s(loads, 1, v) * kBeltRadius_m - belts[1]) < kRounding);
}

RC_GTEST_PROP(AskedTorque, RemovingMassNeverRaisesTheTorqueToSpeedUp, ()) {
    const double mass = in(0.1, 3.0);
    const AxisArray v{in(0.0, 0.3)};
    const AxisArray a{in(0.1, 20.0)};
    const double friction = in(0.0, 20.0);
    const MotorLoads full = motor_loads(machine({belt_axis('X', mass, friction)}));
    const MotorLoads less = motor_loads(machine({belt_axis('X', mass * in(0.0, 1.0), friction)}));
    RC_ASSERT(asked_Nm(less, 0, v, a) <= asked_Nm(full, 0, v, a) + kRounding);
    RC_ASSERT(asked_Nm(light(full), 0, v, a) <= asked_Nm(full, 0, v, a) + kRounding);
    RC_ASSERT(asked_Nm(full, 0, v, a) <= asked_Nm(heavy(full), 0, v, a) + kRounding);
}

}  // namespace
}  // namespace stepper_sim::motor
