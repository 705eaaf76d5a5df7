#include "stepper_sim/dynamics/axis_dynamics.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::dynamics {
namespace {

constexpr double kMaxDamping = 0.999;  // the oscillating form of the solution needs a ratio below 1

double limited_damping(double ratio) {
    return std::clamp(ratio, 0.0, kMaxDamping);
}

VibrationMode rigid_mode(const AxisDynamics& axis) {
    const double inertia_kg_m2 = total_inertia_kg_m2(axis);
    const double shape = 1.0 / std::sqrt(inertia_kg_m2);
    VibrationMode mode;
    mode.rate_rad_s = rigid_natural_rate_rad_s(axis);
    mode.damping = limited_damping((axis.rotor_viscous_Nms_rad + axis.load_viscous_Nms_rad) /
                                   (2.0 * inertia_kg_m2 * mode.rate_rad_s));
    mode.rotor_shape = shape;
    mode.load_shape = shape;
    mode.participation = inertia_kg_m2 * shape;
    return mode;
}

/// `eigenvalue` = rate^2; v is the eigenvector of M^-1/2 K M^-1/2.
VibrationMode elastic_mode(const AxisDynamics& axis, double eigenvalue, double v_rotor,
                           double v_load) {
    const double norm = std::hypot(v_rotor, v_load);
    VibrationMode mode;
    mode.rate_rad_s = std::sqrt(eigenvalue);
    mode.rotor_shape = v_rotor / norm / std::sqrt(axis.rotor_inertia_kg_m2);
    mode.load_shape = v_load / norm / std::sqrt(axis.load_inertia_kg_m2);
    mode.participation =
        axis.rotor_inertia_kg_m2 * mode.rotor_shape + axis.load_inertia_kg_m2 * mode.load_shape;
    const double stretch = mode.rotor_shape - mode.load_shape;
    const double modal_viscous = axis.rotor_viscous_Nms_rad * mode.rotor_shape * mode.rotor_shape +
                                 axis.load_viscous_Nms_rad * mode.load_shape * mode.load_shape +
                                 axis.coupling_damping_Nms_rad * stretch * stretch;
    mode.damping = limited_damping(modal_viscous / (2.0 * mode.rate_rad_s));
    return mode;
}

}  // namespace

double peak_torque_Nm(const AxisDynamics& axis) {
    return axis.torque_factor * axis.torque_constant_Nm_A * axis.current_A;
}

double magnetic_stiffness_Nm_rad(const AxisDynamics& axis) {
    return axis.rotor_teeth * peak_torque_Nm(axis);
}

bool is_rigid(const AxisDynamics& axis) {
    return !std::isfinite(axis.stiffness_Nm_rad) || axis.stiffness_Nm_rad <= 0.0 ||
           axis.load_inertia_kg_m2 <= 0.0;
}

double total_inertia_kg_m2(const AxisDynamics& axis) {
    return axis.rotor_inertia_kg_m2 + axis.load_inertia_kg_m2;
}

double rigid_natural_rate_rad_s(const AxisDynamics& axis) {
    return std::sqrt(magnetic_stiffness_Nm_rad(axis) / total_inertia_kg_m2(axis));
}

double load_natural_rate_rad_s(const AxisDynamics& axis) {
    if (is_rigid(axis)) return std::numeric_limits<double>::infinity();
    return std::sqrt(axis.stiffness_Nm_rad / axis.load_inertia_kg_m2);
}

double coupling_damping_for(const AxisDynamics& axis, double ratio) {
    if (is_rigid(axis)) return 0.0;
    return 2.0 * ratio * std::sqrt(axis.stiffness_Nm_rad * axis.load_inertia_kg_m2);
}

double base_rate_rad_s(const AxisDynamics& axis) {
    motor::MotorConstants motor;
    motor.resistance_ohm = axis.resistance_ohm;
    motor.inductance_H = axis.inductance_H;
    motor.torque_constant_Nm_A = axis.torque_constant_Nm_A;
    motor.rotor_teeth = axis.rotor_teeth;
    return motor::base_rate_rad_s(motor, axis.current_A, axis.supply_V);
}

double microstep_angle_rad(const AxisDynamics& axis) {
    return std::numbers::pi / (2.0 * axis.microsteps * axis.rotor_teeth);
}

VibrationModes vibration_modes(const AxisDynamics& axis) {
    VibrationModes modes;
    if (is_rigid(axis)) {
        modes.count = 1;
        modes.mode[0] = rigid_mode(axis);
        return modes;
    }
    const double rotor_kg_m2 = axis.rotor_inertia_kg_m2;
    const double load_kg_m2 = axis.load_inertia_kg_m2;
    const double a = (magnetic_stiffness_Nm_rad(axis) + axis.stiffness_Nm_rad) / rotor_kg_m2;
    const double d = axis.stiffness_Nm_rad / load_kg_m2;
    const double b = -axis.stiffness_Nm_rad / std::sqrt(rotor_kg_m2 * load_kg_m2);
    const double half_difference = 0.5 * (a - d);
    const double upper = 0.5 * (a + d) + std::hypot(half_difference, b);
    // Product of the roots, written out: the difference of two large terms would lose the slow
    // mode.
    const double lower = magnetic_stiffness_Nm_rad(axis) / rotor_kg_m2 * d / upper;
    // Upper eigenvector, from the row of A - upper I that does not cancel; the lower one is at
    // right angles to it.
    const double v_rotor = half_difference >= 0.0 ? upper - d : -b;
    const double v_load = half_difference >= 0.0 ? b : -(upper - a);
    modes.count = 2;
    modes.mode[0] = elastic_mode(axis, lower, -v_load, v_rotor);
    modes.mode[1] = elastic_mode(axis, upper, v_rotor, v_load);
    return modes;
}

}  // namespace stepper_sim::dynamics
