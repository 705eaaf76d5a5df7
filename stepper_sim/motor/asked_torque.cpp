#include "stepper_sim/motor/asked_torque.hpp"

#include <algorithm>
#include <numbers>

#include "stepper_sim/motor/screw.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::motor {

namespace {

constexpr double kGravity_m_s2 = 9.80665;  // standard gravity, ISO 80000-3

AxisLoad axis_load(const machine::Axis& axis) {
    AxisLoad load;
    load.mass_kg = axis.load.mass.value();
    load.friction_N = axis.load.friction.value();
    load.weight_N = axis.load.vertical ? load.mass_kg * kGravity_m_s2 : 0.0;
    return load;
}

MotorLoad motor_load(const machine::Axis& axis, std::size_t slot) {
    const machine::Drive& drive = axis.drive;
    MotorLoad load;
    load.axis = {slot, slot};
    load.share = {1.0 / axis.motor_count, 0.0};
    load.radius_m = drive.travel_per_turn().value() / (2.0 * std::numbers::pi);
    load.rotating_inertia_kg_m2 = motor_constants(axis.motor).rotor_inertia_kg_m2;
    load.rotor_teeth = axis.motor.rotor_teeth();
    if (!drive.belt_pitch) {
        load.rotating_inertia_kg_m2 +=
            drive.screw_inertia.value() / (drive.gear_ratio * drive.gear_ratio);
        load.forward_gain = 1.0 / drive.screw_efficiency;
        load.back_gain = back_efficiency(drive.screw_efficiency);
    }
    return load;
}

/// Two axes on two motors: each motor turns with both, and carries half of either force, with the signs of its motion (the inverse of
/// the matrix, turned over, is half of it).
void couple(MotorLoads& loads, const planner::MotorMatrix& matrix, std::size_t first,
            std::size_t second) {
    for (const std::size_t motor : {first, second}) {
        MotorLoad& m = loads.motors[motor];
        const double part = 0.5 * m.share[0];
        m.axis = {first, second};
        m.motion = {matrix[motor][first], matrix[motor][second]};
        m.share = {part * m.motion[0], part * m.motion[1]};
    }
}

}  // namespace

MotorLoads motor_loads(const machine::Machine& machine) {
    MotorLoads loads;
    loads.count = static_cast<int>(machine.axes.size());
    for (std::size_t i = 0; i < machine.axes.size(); ++i) {
        loads.axes[i] = axis_load(machine.axes[i]);
        loads.motors[i] = motor_load(machine.axes[i], i);
    }
    const auto matrix = planner::motor_matrix(machine.kinematics, machine.program.axes);
    for (const auto& slots : planner::motor_groups(machine.kinematics, machine.program.axes))
        if (slots.size() == 2) couple(loads, matrix, slots[0], slots[1]);
    return loads;
}

MotorLoads spread(const MotorLoads& loads, double mass_factor, double friction_factor) {
    MotorLoads out = loads;
    for (AxisLoad& axis : out.axes) {
        axis.mass_kg *= mass_factor;
        axis.weight_N *= mass_factor;
        axis.friction_N *= friction_factor;
        axis.viscous_N_s_m *= friction_factor;
    }
    return out;
}

double load_inertia_kg_m2(const MotorLoads& loads, int motor) {
    const MotorLoad& m = loads.motors[static_cast<std::size_t>(motor)];
    double mass_kg = 0.0;
    for (std::size_t i = 0; i < 2; ++i) {
        mass_kg = std::max(mass_kg, std::fabs(m.share[i]) * loads.axes[m.axis[i]].mass_kg);
    }
    return mass_kg * m.radius_m * m.radius_m * m.forward_gain;
}

}  // namespace stepper_sim::motor
