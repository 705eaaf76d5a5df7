/// One edge of a motor's torque band, and the dynamics of a motor at that edge: low has the least torque, high the stiffest
/// magnetic spring. A prediction that must hold is made at both.
/// Model:   the share of the ideal torque that the edge leaves at standstill reaches the shaft at every speed
/// Formula: torque factor = T_edge(0) / (Km I)
/// Symbols: T_edge = torque of the edge [N m], Km = torque constant [N m/A], I = peak current [A]
/// Valid:   the fall above the base speed is the full model's own; the screen takes the whole curve instead (torque_table.hpp)
/// Source:  derived here
/// Checked by: AvailableTorque.PlateAtRestIsRunningFactorTimesHoldingTorque, MachineAxis.TorqueFactorReachesThePeakTorque
#pragma once

#include <cstdint>

#include "stepper_sim/dynamics/machine_axis.hpp"
#include "stepper_sim/motor/available_torque.hpp"

namespace stepper_sim::dynamics {

enum class BandEdge : std::uint8_t { low, nominal, high };

/// Torque of one edge of the band [N m].
inline double edge_torque_Nm(const motor::AvailableTorque& available, BandEdge edge,
                             double rate_rad_s) {
    switch (edge) {
        case BandEdge::low:
            return available.low_Nm(rate_rad_s);
        case BandEdge::high:
            return available.high_Nm(rate_rad_s);
        case BandEdge::nominal:
            break;
    }
    return available.nominal_Nm(rate_rad_s);
}

/// The torque factor is what the edge leaves of the ideal torque at standstill.
inline AxisDynamics axis_dynamics(const machine::Machine& machine, const motor::MotorLoads& loads,
                                  const motor::AvailableTorque& available, int motor,
                                  BandEdge edge) {
    const double ideal_Nm =
        available.constants().torque_constant_Nm_A * available.peak_current().value();
    return axis_dynamics(machine, loads, motor, edge_torque_Nm(available, edge, 0.0) / ideal_Nm);
}

}  // namespace stepper_sim::dynamics
