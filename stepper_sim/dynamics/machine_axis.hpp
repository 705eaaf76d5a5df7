/// The dynamics of one motor of a machine: joins the machine file, the motor's plate and the loads at its shaft.
/// Damping is not in the machine file: the defaults of axis_dynamics.hpp are filled in; a fit may overwrite any field.
/// Where raising and lowering differ (a screw), gravity_Nm is the mean and half the difference adds to dry friction. On crossed belts the
/// heavier direction gives the inertia and the frictions of both directions add: the diagonal that one motor carries alone.
#pragma once

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/motor/asked_torque.hpp"

namespace stepper_sim {

/// `motor`: slot of the axis that names the motor; `torque_factor`: running factor, what reaches the shaft of the torque made (> 0).
AxisDynamics axis_dynamics(const Machine& machine, const MotorLoads& loads, int motor,
                           double torque_factor);

/// Motor radians per metre of belt or nut travel, for screen_move.hpp.
double rad_per_m(const MotorLoads& loads, int motor);

}  // namespace stepper_sim
