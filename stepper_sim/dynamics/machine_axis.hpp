/// The dynamics of one motor of a machine: joins the machine file, the motor's plate and the loads at its shaft.
/// Damping need not be in the machine file: the defaults of axis_dynamics.hpp are filled in, and a fit may overwrite any field.
/// Model:   load reflected to the shaft; a stiffness that is not in the file comes from the class of the drive, with a band that
///          plant_variant.hpp searches; crossed belts: a motor gets half of mass, friction and spring of its own axis alone
///          (full_model.hpp couples the two)
/// Formula: Jl = s m r^2 g, kb = s k r^2, Tc = s F r g + |Tu - Td|/2, Tg = (Tu + Td)/2, Tu = s W r g, Td = s W r h
/// Symbols: m, F, W, k = mass [kg], friction [N], weight [N] and stiffness [N/m] of the axis, r = travel per radian [m], s = share of
///          this motor, g, h = gain of the drive forward and back (asked_torque.hpp), Tu, Td = weight at the shaft, up and down [N m]
/// Valid:   where raising and lowering differ (a screw) half the difference counts as dry friction
/// Source:  Newton; the classes of stiffness are guesses
/// Checked by: MachineAxis.BeltIsReflectedByThePulleyRadius, MachineAxis.WeightOnAScrewSplitsIntoGravityAndFriction,
///             MachineAxis.ABeltWithoutAStiffnessHasThatOfItsClass
#pragma once

#include <optional>

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/motor/asked_torque.hpp"

namespace stepper_sim::dynamics {

/// `motor`: slot of the axis that names the motor; `torque_factor`: running factor, what reaches the shaft of the torque made (> 0).
AxisDynamics axis_dynamics(const machine::Machine& machine, const motor::MotorLoads& loads,
                           int motor, double torque_factor);

/// The stiffness of an axis between motor and load [N/m], and how far it may be off.
struct StiffnessBand {
    double nominal_N_m = 0.0;
    double low_factor = 1.0, high_factor = 1.0;
    bool given = true;  // in the machine file; else from the class of the drive
};

/// Of an axis with a load that matters beside the rotor; none where the transmission counts as rigid.
std::optional<StiffnessBand> stiffness_band(const machine::Axis& axis, double rotor_inertia_kg_m2,
                                            double load_inertia_kg_m2);

/// Of the axis of this motor.
std::optional<StiffnessBand> stiffness_band(const machine::Machine& machine,
                                            const motor::MotorLoads& loads, int motor);

/// Motor radians per metre of belt or nut travel, for screen_move.hpp.
double rad_per_m(const motor::MotorLoads& loads, int motor);

}  // namespace stepper_sim::dynamics
