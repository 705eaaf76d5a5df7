#include "stepper_sim/motor/voltage_limit.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/stepper_sim/motor/motor_samples.hpp"

namespace stepper_sim::motor {
namespace {

constexpr double kRounding = 1e-9;  // relative: a few dozen double operations

double in(double low, double high) {
    return low + (high - low) * (*rc::gen::inRange(0, 1000001)) * 1e-6;
}

MotorConstants any_motor() {
    MotorConstants m;
    m.resistance_ohm = std::exp(in(std::log(0.3), std::log(10.0)));
    m.inductance_H = std::exp(in(std::log(0.5e-3), std::log(10e-3)));
    m.torque_constant_Nm_A = std::exp(in(std::log(0.05), std::log(1.2)));
    return m;
}

TEST(MotorConstants, TorqueConstantIsHoldingTorqueOverThePeakOfThePlate) {
    const MotorConstants rms = motor_constants(samples::motor());
    EXPECT_NEAR(rms.torque_constant_Nm_A, 0.4 / (2.0 * std::numbers::sqrt2), kRounding);
    machine::MotorPart peak_plate = samples::motor();
    peak_plate.rated_current = samples::peak(2.0);
    EXPECT_NEAR(motor_constants(peak_plate).torque_constant_Nm_A, 0.2, kRounding);
}

TEST(MotorConstants, MissingPlateValuesAreEstimatedAndMarked) {
    machine::MotorPart bare = samples::motor();
    EXPECT_FALSE(motor_constants(bare).inductance_estimated);
    bare.inductance.reset();
    bare.resistance.reset();
    bare.rotor_inertia.reset();
    const MotorConstants c = motor_constants(bare);
    EXPECT_TRUE(c.inductance_estimated && c.resistance_estimated && c.inertia_estimated);
    EXPECT_NEAR(c.inductance_H, 0.019 * 0.4 / 4.0, kRounding);   // L I^2/T = 0.019
    EXPECT_NEAR(c.resistance_ohm, 12.0 * 0.4 / 4.0, kRounding);  // R I^2/T = 12 at frame 17
    EXPECT_NEAR(c.rotor_inertia_kg_m2, 1.5e-5 * 0.4, kRounding);
}

TEST(VoltageLimit, TorqueAtRestIsTheConstantTimesThePeakCurrent) {
    const MotorConstants c = motor_constants(samples::motor());
    EXPECT_NEAR(ideal_torque_Nm(c, 2.0 * std::numbers::sqrt2, 24.0, 0.0), 0.4, kRounding);
    EXPECT_NEAR(ideal_torque_Nm(c, 2.0, 24.0, 0.0), 0.4 / std::numbers::sqrt2,
                kRounding);  // peak set to the RMS number
}

TEST(VoltageLimit, SupplyBelowTheCoilDropLimitsTheCurrentByOhmsLaw) {
    const MotorConstants c = motor_constants(samples::motor());
    EXPECT_EQ(base_rate_rad_s(c, 2.0, 3.0), 0.0);  // 2 A x 1.5 ohm = 3 V
    EXPECT_NEAR(ideal_torque_Nm(c, 4.0, 3.0, 0.0), c.torque_constant_Nm_A * 2.0, kRounding);
}

RC_GTEST_PROP(VoltageLimit, CornerSpeedSatisfiesItsEquation, ()) {
    const MotorConstants m = any_motor();
    const double I = in(0.3, 6.0);
    const double V = in(5.0, 80.0);
    const double w = base_rate_rad_s(m, I, V);
    if (m.resistance_ohm * I >= V) {
        RC_ASSERT(w == 0.0);
        return;
    }
    const double used = std::hypot(m.resistance_ohm * I + m.torque_constant_Nm_A * w,
                                   m.rotor_teeth * m.inductance_H * I * w);
    RC_ASSERT(std::fabs(used - V) < kRounding * V);
}

RC_GTEST_PROP(VoltageLimit, TorqueNeverRisesWithSpeedAndNeverFallsWithSupply, ()) {
    const MotorConstants m = any_motor();
    const double I = in(0.3, 6.0);
    const double V = in(5.0, 80.0);
    const double w = in(0.0, 400.0);
    const double here = ideal_torque_Nm(m, I, V, w);
    const double slack = kRounding * m.torque_constant_Nm_A * I;
    RC_ASSERT(ideal_torque_Nm(m, I, V, w * 1.01 + 0.01) <= here + slack);
    RC_ASSERT(ideal_torque_Nm(m, I, V * 1.05, w) >= here - slack);
    RC_ASSERT(average_torque_Nm(m, I, V, w) >= here - slack);
}

/// The best of all current vectors inside both limits, by search: the closed forms must find the
/// same.
RC_GTEST_PROP(VoltageLimit, ClosedFormIsTheBestCurrentAngle, ()) {
    const MotorConstants m = any_motor();
    const double I = in(0.3, 6.0);
    const double V = in(5.0, 80.0);
    const double w = in(1.0, 300.0);
    const double X = m.rotor_teeth * w * m.inductance_H;
    double best_A = 0.0;
    constexpr int kAngles = 2000;
    for (int i = 0; i <= kAngles;
         ++i) {  // for each angle of the current, the largest amplitude both limits allow
        const double b = std::numbers::pi * i / kAngles - 0.5 * std::numbers::pi;
        const double E = m.torque_constant_Nm_A * w;
        const double cross = E * (m.resistance_ohm * std::cos(b) +
                                  X * std::sin(b));  // |Z i + jE|^2 = Z^2 i^2 + 2 i cross + E^2
        const double Z2 = m.resistance_ohm * m.resistance_ohm + X * X;
        const double disc = cross * cross - Z2 * (E * E - V * V);
        if (disc < 0.0) continue;
        const double largest = (-cross + std::sqrt(disc)) / Z2;
        const double smallest = (-cross - std::sqrt(disc)) / Z2;
        if (largest < 0.0 || smallest > I) continue;
        best_A = std::max(best_A, std::min(I, largest) * std::cos(b));
    }
    constexpr double kSearch = 2e-3;  // of the full torque: the angle grid is pi/2000 coarse
    RC_ASSERT(std::fabs(ideal_torque_Nm(m, I, V, w) - m.torque_constant_Nm_A * best_A) <
              kSearch * m.torque_constant_Nm_A * I);
}

TEST(VoltageLimit, RegionsChangeAtTheCornerAndAtOneAndAHalf) {
    EXPECT_EQ(region_at(10.0, 10.0), Region::supported);
    EXPECT_EQ(region_at(10.1, 10.0), Region::sensitive);
    EXPECT_EQ(region_at(15.1, 10.0), Region::upper_bound);
    EXPECT_STREQ(name(Region::upper_bound), "upper bound");
}

}  // namespace
}  // namespace stepper_sim::motor
