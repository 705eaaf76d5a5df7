/// How large an instant change of commanded speed a motor survives: starting from rest, and at
/// corners.
///
/// Model:   rotor in step, current fixed, command jumps by dw; the rotor must catch up before it
///          falls out of the torque well (the energy of the jump equals the work left between the
///          loaded rest angle and the top of the well)
/// Formula: dw_max = sqrt( (2 Tm/(J Nr)) [2 sqrt(1 - f^2) - f (pi - 2 asin f)] ); f = 0: dw_max = 2
///          wn/Nr; wn = sqrt(Nr Tm/J); as a start rate: 8 fn full steps/s, fn = wn/(2 pi)
/// Symbols: Tm = torque at the new speed [N m], J = rotor + reflected load inertia [kg m2], Nr =
///          rotor teeth, f = steady demand/Tm
/// Valid:   from an undisturbed state: from rest within 1.1 % of the full model when rigid,
///          conservative when the transmission is elastic (0.53 to 1.0 of it); into an existing
///          oscillation it fails, see stepper_sim/dynamics. A reversal counts twice its speed
/// Source:  derived here by energy; wn as in P. Acarnley, Stepping Motors, ch. 4 (from memory)
/// Checked by: SpeedStep.*, NaturalFrequency.*
#pragma once

namespace stepper_sim::motor {

/// Small-swing natural frequency of a rotor in its torque well [rad/s].
double natural_rate_rad_s(double torque_Nm, double inertia_kg_m2, int rotor_teeth);

/// Largest survivable jump of speed [rad/s]; `use` = f is clamped to [0, 1]; 0 where f = 1.
double speed_step_rad_s(double torque_Nm, double inertia_kg_m2, int rotor_teeth, double use);

}  // namespace stepper_sim::motor
