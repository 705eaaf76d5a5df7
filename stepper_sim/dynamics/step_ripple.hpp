/// What single steps add to a swing: a stepped command and the detent of the rotor shake the axis at the rate of the steps, which at some
/// speeds is its own. Motion without steps is swing_bank.hpp's business.
/// Model:   steady swing of the modes under the harmonics of a staircase command and under the detent torque, at constant speed
/// Formula: staircase of angle d at rate f: harmonics d/(pi n) at n f; each mode answers with km phi_r p W^2 a/|w^2 - W^2 + 2 i z w W|, W = 2 pi n f;
///          detent Td at one cycle a full step: km phi_r^2 Td/|w^2 - W^2 + 2 i z w W|; z holds damping and, once the swing of the load is faster
///          than its motion, (2/pi) c_f Tc sqrt(1 - x^2)/A of dry friction (swing_bank.hpp); grows as 1 - e^{-z w t}
/// Symbols: as swing_bank.hpp; d = angle of one microstep [rad]
/// Valid:   small swings; harmonics meet a mode one at a time. While the speed changes, for as long as the rate of steps stays within a
///          period of the swing: t = sqrt(2 pi/(dW/dt))
/// Source:  Fourier series of a sawtooth, transmissibility of a moved base, Thomson, Theory of Vibration with Applications (from memory);
///          passage through resonance: derived (Fresnel integral)
/// Checked by: StepRipple.*, SlipScreen.FullStepsAreSuspiciousAtAnySpeed; bench/adversary.cpp
#pragma once

#include <span>
#include <vector>

#include "stepper_sim/dynamics/axis_dynamics.hpp"

namespace stepper_sim::dynamics {

class StepRipple {
  public:
    /// The worst of these variants, at speeds up to the fastest.
    StepRipple(std::span<const AxisDynamics> axes, double top_rate_rad_s);

    /// Torque at the rotor that ripple adds over a stretch of time from one speed to another, both signed alike [N m].
    double torque_Nm(double from_rad_s, double to_rad_s, double duration_s) const;

  private:
    struct Answer {
        double torque_Nm = 0.0;   // once it has grown
        double growth_1_s = 0.0;  // z w
    };
    Answer answer_at(std::span<const AxisDynamics> axes, double rate_rad_s) const;
    std::size_t place(double rate_rad_s) const;

    double slowest_rad_s_ = 1.0, per_log_ = 1.0, least_Nm_ = 0.0, most_Nm_ = 0.0;
    double most_growth_1_s_ = 0.0, negligible_Nm_ = 0.0;
    double steps_per_rad_ = 1.0;  // microsteps
    std::vector<Answer> answers_;
};

}  // namespace stepper_sim::dynamics
