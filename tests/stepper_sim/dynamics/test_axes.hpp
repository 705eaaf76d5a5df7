/// Axes used by several dynamics tests: numbers of our own in the range of a small machine, not a
/// product's.
#pragma once

#include "stepper_sim/dynamics/axis_dynamics.hpp"

namespace stepper_sim::dynamics::test {

/// 1.8 degree motor of 0.4 N m, 24 V, 16 microsteps; 0.45 kg on a belt of 60 N/mm over a 40 mm
/// pulley circumference, 3 N friction.
inline AxisDynamics belt_axis() {
    AxisDynamics axis;
    axis.resistance_ohm = 1.65;
    axis.inductance_H = 2.8e-3;
    axis.torque_constant_Nm_A = 0.17;
    axis.current_A = 1.7;
    axis.supply_V = 24.0;
    axis.rotor_inertia_kg_m2 = 5.4e-6;
    const double radius_m = 6.366e-3;
    axis.metres_per_rad = radius_m;
    axis.load_inertia_kg_m2 = 0.45 * radius_m * radius_m;
    axis.stiffness_Nm_rad = 60e3 * radius_m * radius_m;
    axis.coupling_damping_Nms_rad = coupling_damping_for(axis, kDefaultModalDamping);
    axis.rotor_viscous_Nms_rad = kDefaultViscousShare_s * peak_torque_Nm(axis);
    axis.coulomb_Nm = 3.0 * radius_m;
    return axis;
}

inline AxisDynamics rigid_axis() {
    AxisDynamics axis = belt_axis();
    axis.stiffness_Nm_rad = kRigid_Nm_rad;
    axis.coupling_damping_Nms_rad = 0.0;
    return axis;
}

}  // namespace stepper_sim::dynamics::test
