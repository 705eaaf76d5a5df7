#include "stepper_sim/dynamics/axis_dynamics.hpp"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "test_axes.hpp"

namespace stepper_sim::dynamics {
namespace {

constexpr double kRounding =
    1e-9;  // relative; a handful of operations on numbers a factor of 1e4 apart

double logarithmic(int percent, double from, double to) {
    return from * std::pow(to / from, percent / 100.0);
}

RC_GTEST_PROP(AxisDynamics, ModesAreOrthogonalAndUnitMass, ()) {
    AxisDynamics axis = test::belt_axis();
    axis.rotor_inertia_kg_m2 = logarithmic(*rc::gen::inRange(0, 101), 1e-6, 1e-3);
    axis.load_inertia_kg_m2 = logarithmic(*rc::gen::inRange(0, 101), 1e-7, 1e-2);
    axis.stiffness_Nm_rad = logarithmic(*rc::gen::inRange(0, 101), 0.1, 1e4);
    const VibrationModes modes = vibration_modes(axis);
    RC_ASSERT(modes.count == 2);
    const VibrationMode& slow = modes.mode[0];
    const VibrationMode& fast = modes.mode[1];
    RC_ASSERT(slow.rate_rad_s <= fast.rate_rad_s);
    for (const VibrationMode& mode : modes.used()) {
        const double mass = axis.rotor_inertia_kg_m2 * mode.rotor_shape * mode.rotor_shape +
                            axis.load_inertia_kg_m2 * mode.load_shape * mode.load_shape;
        RC_ASSERT(std::fabs(mass - 1.0) < kRounding);
    }
    const double across = axis.rotor_inertia_kg_m2 * slow.rotor_shape * fast.rotor_shape +
                          axis.load_inertia_kg_m2 * slow.load_shape * fast.load_shape;
    RC_ASSERT(std::fabs(across) < kRounding);
    // The participations carry the whole inertia.
    const double carried =
        slow.participation * slow.participation + fast.participation * fast.participation;
    RC_ASSERT(std::fabs(carried / total_inertia_kg_m2(axis) - 1.0) < kRounding);
}

TEST(AxisDynamics, StiffTransmissionTendsToTheRigidNaturalRate) {
    AxisDynamics axis = test::belt_axis();
    axis.stiffness_Nm_rad = 1e8;
    const double kMassRatioError = 1e-5;  // order of km / kb
    EXPECT_NEAR(vibration_modes(axis).mode[0].rate_rad_s / rigid_natural_rate_rad_s(axis), 1.0,
                kMassRatioError);
}

TEST(AxisDynamics, RigidAxisHasOneModeThatMovesRotorAndLoadAlike) {
    const VibrationModes modes = vibration_modes(test::rigid_axis());
    ASSERT_EQ(modes.count, 1);
    EXPECT_EQ(modes.mode[0].rotor_shape, modes.mode[0].load_shape);
}

TEST(AxisDynamics, CornerRateSolvesTheVoltageCircle) {
    const AxisDynamics axis = test::belt_axis();
    const double w = base_rate_rad_s(axis);
    // Full current in phase with the back-EMF: (R I + Km w)^2 + (Nr L I w)^2 = V^2.
    const double in_phase_V = axis.resistance_ohm * axis.current_A + axis.torque_constant_Nm_A * w;
    const double across_V = axis.rotor_teeth * axis.inductance_H * axis.current_A * w;
    EXPECT_NEAR(std::hypot(in_phase_V, across_V) / axis.supply_V, 1.0, kRounding);
}

TEST(AxisDynamics, NoCornerRateWhereTheResistanceTakesTheSupply) {
    AxisDynamics axis = test::belt_axis();
    axis.supply_V = axis.resistance_ohm * axis.current_A;
    EXPECT_EQ(base_rate_rad_s(axis), 0.0);
}

TEST(AxisDynamics, CouplingDampingGivesTheLoadTheRatioAsked) {
    AxisDynamics axis = test::belt_axis();
    axis.rotor_viscous_Nms_rad = 0.0;
    axis.current_A = 1e6;  // holds the rotor: the slow mode is the load on the transmission
    axis.coupling_damping_Nms_rad = coupling_damping_for(axis, 0.03);
    const double kHeldRotorError = 1e-4;  // order of kb / km
    const VibrationMode slow = vibration_modes(axis).mode[0];
    EXPECT_NEAR(slow.damping / 0.03, 1.0, kHeldRotorError);
    EXPECT_NEAR(slow.rate_rad_s / load_natural_rate_rad_s(axis), 1.0, kHeldRotorError);
}

}  // namespace
}  // namespace stepper_sim::dynamics
