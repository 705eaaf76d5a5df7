#include "stepper_sim/dynamics/swing_bank.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "stepper_sim/dynamics/plant_variant.hpp"
#include "test_axes.hpp"

namespace {

using namespace stepper_sim;

/// Every lane the same axis, of even torque.
dynamics::SwingBank bank_of(const dynamics::AxisDynamics& axis) {
    dynamics::BankAxes axes;
    axes.fill(axis);
    const dynamics::TorqueTable torque([&](double) { return dynamics::peak_torque_Nm(axis); },
                                       200.0);
    return {axes, 1.0, torque, torque};
}

// A stop from speed v leaves a free swing of v/w of the load on a rotor that holds; the rotor gives a little.
TEST(SwingBank, AStopFromSpeedLeavesSpeedOverFrequency) {
    dynamics::AxisDynamics axis = dynamics::test::belt_axis();
    axis.coulomb_Nm = 0.0;
    dynamics::SwingBank bank = bank_of(axis);
    const double rate_rad_s = 2.0, w_rad_s = dynamics::vibration_modes(axis).mode[0].rate_rad_s;
    bank.phase({10.0, rate_rad_s, 0.0});
    bank.phase({1e-6, 0.0, 0.0});
    const double simple_m = rate_rad_s / w_rad_s * axis.metres_per_rad;
    EXPECT_GT(bank.ringing_m(), 0.9 * simple_m);
    EXPECT_LT(bank.ringing_m(), 1.2 * simple_m);
}

TEST(SwingBank, DampingAndFrictionWearASwingDown) {
    dynamics::AxisDynamics axis = dynamics::test::belt_axis();
    const auto left_m = [&](double coulomb_Nm) {
        axis.coulomb_Nm = coulomb_Nm;
        dynamics::SwingBank bank = bank_of(axis);
        bank.phase({10.0, 2.0, 0.0});
        bank.phase({0.05, 0.0, 0.0});
        return bank.ringing_m();
    };
    const double damped_m = left_m(0.0);
    EXPECT_LT(damped_m,
              2.0 / dynamics::vibration_modes(axis).mode[0].rate_rad_s * axis.metres_per_rad);
    EXPECT_LT(left_m(3.0 * axis.metres_per_rad), damped_m);
}

// Steady acceleration asks J a + Tc, as a share of the torque.
TEST(SwingBank, SlowChangesAskTheTorqueOfTheMotionAlone) {
    dynamics::AxisDynamics axis = dynamics::test::rigid_axis();
    axis.microsteps = 256;
    dynamics::SwingBank bank = bank_of(axis);
    bank.phase({20.0, 0.1, 0.5});
    bank.end_move();
    bank.phase({2.0, 10.1, 0.5});
    const double asked_Nm = dynamics::total_inertia_kg_m2(axis) * 0.5 + axis.coulomb_Nm +
                            (axis.rotor_viscous_Nms_rad + axis.load_viscous_Nms_rad) * 11.1;
    const double share = asked_Nm / dynamics::peak_torque_Nm(axis);
    EXPECT_NEAR(bank.end_move().nominal_ratio, share, 0.1 * share);
}

TEST(PlantVariant, KeepsTheDampingRatioOfTheTransmission) {
    constexpr double kRounding = 1e-12;
    const dynamics::AxisDynamics axis = dynamics::test::belt_axis();
    const dynamics::AxisDynamics soft =
        dynamics::varied(axis, {dynamics::BandEdge::nominal, 1.0, 1.0, 0.5, 1.1});
    EXPECT_NEAR(dynamics::coupling_damping_for(soft, dynamics::kDefaultModalDamping),
                soft.coupling_damping_Nms_rad, kRounding * soft.coupling_damping_Nms_rad);
}

TEST(PlantVariant, TheBandRunsFromSoftAndHeavyToStiffAndLight) {
    const dynamics::SpringBand band{0.8, 1.2};
    EXPECT_DOUBLE_EQ(band.stiffness(0.0), 0.8);
    EXPECT_DOUBLE_EQ(band.stiffness(1.0), 1.2);
    EXPECT_DOUBLE_EQ(dynamics::SpringBand::mass(0.0), 1.0 + motor::kMassSpread);
    EXPECT_DOUBLE_EQ(dynamics::SpringBand::mass(1.0), 1.0 - motor::kMassSpread);
}

}  // namespace
