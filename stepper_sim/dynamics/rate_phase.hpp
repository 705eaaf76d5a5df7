/// A stretch of constant motor acceleration: what the planner's phases become at one motor.
/// Model:   acceleration constant; dry friction turns with the speed, so a phase that turns round is two
/// Formula: w = w0 + a t; it turns round after -w0 / a
/// Symbols: w = speed [rad/s], w0 = at the start, a = acceleration [rad/s^2], t [s]
/// Valid:   an end speed below 1e-9 of the other is rounding, and a stop
/// Source:  Newton
/// Checked by: ModalScreen.StopThatRoundingCarriedBelowZeroKeepsTheFriction, ModalScreen.SplittingAPhaseChangesNothing
#pragma once

#include <algorithm>
#include <cmath>

namespace stepper_sim::dynamics {

struct RatePhase {
    double duration_s = 0.0;
    double start_rate_rad_s =
        0.0;  // signed; a difference from the end of the phase before is a speed jump
    double acceleration_rad_s2 = 0.0;

    double end_rate_rad_s() const { return start_rate_rad_s + acceleration_rad_s2 * duration_s; }
};

/// Gives `sink` the phase, in two where the motor turns round inside it: dry friction turns with the speed. A stop that rounding carried
/// below zero is a stop.
template <class Sink>
void split_at_turn(const RatePhase& phase, Sink&& sink) {
    constexpr double kRoundingShare = 1e-9;  // of the speed
    const double end_rad_s = phase.end_rate_rad_s();
    const double rounding_rad_s =
        kRoundingShare * std::max(std::fabs(phase.start_rate_rad_s), std::fabs(end_rad_s));
    const bool turns_round = phase.start_rate_rad_s * end_rad_s < 0.0 &&
                             std::fabs(phase.start_rate_rad_s) > rounding_rad_s &&
                             std::fabs(end_rad_s) > rounding_rad_s;
    if (!turns_round) return sink(phase);
    const double until_s = -phase.start_rate_rad_s / phase.acceleration_rad_s2;
    sink(RatePhase{until_s, phase.start_rate_rad_s, phase.acceleration_rad_s2});
    sink(RatePhase{phase.duration_s - until_s, 0.0, phase.acceleration_rad_s2});
}

}  // namespace stepper_sim::dynamics
