#include "stepper_sim/dynamics/machine_axis.hpp"

#include <gtest/gtest.h>

#include <numbers>

namespace stepper_sim::dynamics {
namespace {

using planner::from_si;

constexpr double kRounding = 1e-12;  // relative

/// 40 mm of belt a turn, 0.5 kg, 4 N, 60 N/mm; 0.4 N m motor of 1.68 A (both phases on), driven at 1.2 A RMS.
machine::Machine belt_machine() {
    machine::Axis axis;
    axis.letter = 'X';
    axis.drive.belt_pitch = from_si<planner::Length>(2e-3);
    axis.drive.pulley_teeth = 20;
    axis.motor.rated_current = {from_si<planner::Current>(1.68), machine::CurrentBasis::rms};
    axis.motor.holding_torque = from_si<planner::Torque>(0.4);
    axis.motor.resistance = from_si<planner::Resistance>(1.65);
    axis.motor.inductance = from_si<planner::Inductance>(2.8e-3);
    axis.motor.rotor_inertia = from_si<planner::Inertia>(5.4e-6);
    axis.current = {from_si<planner::Current>(1.2), machine::CurrentBasis::rms};
    axis.supply = from_si<planner::Voltage>(24.0);
    axis.load.mass = from_si<planner::Mass>(0.5);
    axis.load.friction = from_si<planner::Force>(4.0);
    axis.stiffness = from_si<planner::Stiffness>(60e3);
    axis.modes.push_back({from_si<planner::Frequency>(48.0), 0.04});
    machine::Machine machine;
    machine.axes.push_back(axis);
    return machine;
}

TEST(MachineAxis, BeltIsReflectedByThePulleyRadius) {
    const machine::Machine machine = belt_machine();
    const motor::MotorLoads loads = motor::motor_loads(machine);
    const AxisDynamics axis = axis_dynamics(machine, loads, 0, 1.0);
    const double r = 0.04 / (2.0 * std::numbers::pi);
    EXPECT_NEAR(axis.load_inertia_kg_m2 / (0.5 * r * r), 1.0, kRounding);
    EXPECT_NEAR(axis.stiffness_Nm_rad / (60e3 * r * r), 1.0, kRounding);
    EXPECT_NEAR(axis.coulomb_Nm / (4.0 * r), 1.0, kRounding);
    EXPECT_NEAR(axis.metres_per_rad / r, 1.0, kRounding);
    EXPECT_NEAR(rad_per_m(loads, 0) * r, 1.0, kRounding);
    EXPECT_EQ(axis.gravity_Nm, 0.0);
    EXPECT_NEAR(peak_torque_Nm(axis) / (0.4 * 1.2 / 1.68), 1.0, kRounding);
    ASSERT_EQ(axis.carriage_modes.size(), 1U);
    EXPECT_EQ(axis.carriage_modes[0].frequency_Hz, 48.0);
    EXPECT_NEAR(load_natural_rate_rad_s(axis) / std::sqrt(60e3 / 0.5), 1.0, kRounding);
}

TEST(MachineAxis, TorqueFactorReachesThePeakTorque) {
    const machine::Machine machine = belt_machine();
    const AxisDynamics axis = axis_dynamics(machine, motor::motor_loads(machine), 0, 0.8);
    EXPECT_NEAR(peak_torque_Nm(axis) / (0.8 * 0.4 * 1.2 / 1.68), 1.0, kRounding);
}

TEST(MachineAxis, WeightOnAScrewSplitsIntoGravityAndFriction) {
    machine::Machine machine = belt_machine();
    machine::Axis& axis = machine.axes[0];
    axis.drive.belt_pitch.reset();
    axis.drive.screw_lead = from_si<planner::Length>(8e-3);
    axis.drive.screw_efficiency = 0.4;
    axis.load.friction = from_si<planner::Force>(0.0);
    axis.load.vertical = true;
    const motor::MotorLoads loads = motor::motor_loads(machine);
    const AxisDynamics dynamics = axis_dynamics(machine, loads, 0, 1.0);
    const double weight_Nm = 0.5 * 9.80665 * 8e-3 / (2.0 * std::numbers::pi);
    EXPECT_NEAR((dynamics.gravity_Nm + dynamics.coulomb_Nm) / (weight_Nm / 0.4), 1.0, kRounding);
    EXPECT_NEAR(dynamics.gravity_Nm - dynamics.coulomb_Nm, weight_Nm * loads.motors[0].back_gain,
                kRounding);
}

TEST(MachineAxis, ABeltWithoutAStiffnessHasThatOfItsClass) {
    machine::Machine machine = belt_machine();
    machine.axes[0].stiffness.reset();
    const auto band = stiffness_band(machine, motor::motor_loads(machine), 0);
    ASSERT_TRUE(band);
    EXPECT_FALSE(band->given);
    EXPECT_NEAR(band->nominal_N_m * band->low_factor, 10e3, 10e3 * kRounding);
    EXPECT_NEAR(band->nominal_N_m * band->high_factor, 100e3, 100e3 * kRounding);
    EXPECT_FALSE(is_rigid(axis_dynamics(machine, motor::motor_loads(machine), 0, 1.0)));
}

TEST(MachineAxis, ALoadThatIsNothingBesideTheRotorCountsAsRigid) {
    machine::Machine machine = belt_machine();
    machine.axes[0].stiffness.reset();
    machine.axes[0].load.mass *= 1e-3;
    EXPECT_FALSE(stiffness_band(machine, motor::motor_loads(machine), 0));
    EXPECT_TRUE(is_rigid(axis_dynamics(machine, motor::motor_loads(machine), 0, 1.0)));
}

}  // namespace
}  // namespace stepper_sim::dynamics
