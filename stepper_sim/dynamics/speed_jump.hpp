/// The largest speed step a motor in step survives: starting without a ramp, or a corner taken at a
/// speed step. It explains, it never declares safe: into an oscillation that is still ringing the
/// formula fails (use modal_screen.hpp). Model:   rigid pendulum on the sine torque curve; the
/// command jumps by dw and goes on with constant load torque Formula: dw = sqrt((2 Tm / (J Nr)) (2
/// sqrt(1 - f^2) - f (pi - 2 asin f))); f = 0: dw = 2 wn / Nr Symbols: Tm = torque at the new speed
/// [N m], J = rotor and load inertia [kg m2], Nr = rotor teeth,
///          f = load torque / Tm, wn = sqrt(Nr Tm / J) [rad/s], dw = speed jump [rad/s]
/// Valid:   from rest in step: within 1.1 % of the full model when rigid, cautious when elastic
/// (0.53 to 1.0 of it) Source:  energy of the sine potential between the rest point and the saddle,
/// derived; equal-area criterion Checked by: SpeedJump.StartRateIsEightNaturalFrequencies,
/// OutsideMotion.StartRateFormulaMeetsTheFullModelWhenRigid
#pragma once

namespace stepper_sim {

/// Largest speed jump [rad/s]; 0 where the load takes all the torque.
/// `torque_Nm` > 0, `inertia_kg_m2` > 0; `load_Nm`: friction, gravity and acceleration torque
/// against the jump (negative: helping, counted as none).
double largest_speed_jump_rad_s(double torque_Nm, double inertia_kg_m2, int rotor_teeth,
                                double load_Nm);

/// Rate of full steps of a motor turning at `rate_rad_s` [1/s].
double full_steps_per_s(double rate_rad_s, int rotor_teeth);

}  // namespace stepper_sim
