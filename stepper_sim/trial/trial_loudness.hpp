/// What the rungs of a resonance trial sound like: how far each swings the motor, and which one an operator will call the loudest.
/// Model:   the full model on the reversals of each rung (trial_motion.hpp); loudest = largest load angle
/// Formula: top of the parabola through the logarithms of the loudest rung and its two neighbours, over the logarithm of the frequency
/// Symbols: none beyond full_model.hpp
/// Valid:   a swing softens the motor's spring and dry friction damps it, so the loudest rung lies at 0.85 to 1.0 of the small-swing
///          natural frequency; a rung at either end of the sweep shows no resonance
/// Source:  derived here
/// Checked by: TrialLoudness.*
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "stepper_sim/trial/trial_motion.hpp"

namespace stepper_sim::trial {

struct Loudness {
    std::vector<double> frequency_Hz;  // rising
    std::vector<double> swing_rad;     // electrical load angle at its largest; a slip counts as pi

    double peak_rad() const;
    /// Nothing where the loudest rung is the first or the last.
    std::optional<double> heard_Hz() const;
};

/// `motion`: of any rung of the trial.
Loudness loudness(const TrialRig& rig, const dynamics::AxisDynamics& axis, const RungMotion& motion,
                  std::span<const double> frequencies_Hz);

}  // namespace stepper_sim::trial
