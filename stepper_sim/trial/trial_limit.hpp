/// The value at which the strokes of a trial lose steps, according to the full model: what a trial is designed around and what
/// a fit compares with the answers. Not the limit to flash: that has a margin and looks at every move (the checks).
/// Model:   the full model on the strokes of trial_motion.hpp, with the driver's kind of regulator and evenly spaced pulses
/// Formula: slips come in bands with ragged edges: the limit is the lower edge of the lowest band, where of five values 1.3 % apart most
///          slip
/// Symbols: none beyond full_model.hpp
/// Valid:   as the full model; lone values below may slip, and above the band some hold; a band narrower than 8 % that lies more
///          than a seventh below the next one can be overlooked
/// Source:  derived here
/// Checked by: TrialLimit.HoldsBelowAndSlipsAbove, TrialLimit.GrowsWithTheTorque
#pragma once

#include <optional>

#include "stepper_sim/trial/trial_motion.hpp"

namespace stepper_sim::trial {

/// Highest value worth asking for, however strong the motor: what the stroke lets the axis reach, and for steps the speed itself.
double highest_value(const RungMotion& motion);

struct FoundLimit {
    double value = 0.0;
    bool slips = true;  // false: nothing slips up to highest_value(), which is `value`
};

/// `guess` > 0: where to look first; what is found does not depend on it. Not for resonance. Costs 48 simulated rungs, several
/// times as many where the guess is far off.
FoundLimit find_loss(const TrialRig& rig, const dynamics::AxisDynamics& axis,
                     const RungMotion& motion, double guess);

/// A first guess from torque alone; `torque_Nm`: what the motor makes at the motion's speed.
double guess_limit(const TrialRig& rig, const dynamics::AxisDynamics& axis,
                   const RungMotion& motion, double torque_Nm);

/// Frequency at which reversals build up the largest swing [Hz]: the slowest mode of the motor and its load.
double resonance_Hz(const dynamics::AxisDynamics& axis);

}  // namespace stepper_sim::trial
