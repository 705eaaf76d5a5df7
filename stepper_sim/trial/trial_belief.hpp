/// What is believed of an axis, before or after trials, turned into what a trial will show: the value at which steps are first lost,
/// how sure that is, and what each unknown does to it.
#pragma once

#include "stepper_sim/trial/map_estimate.hpp"
#include "stepper_sim/trial/trial_limit.hpp"
#include "stepper_sim/trial/trial_prior.hpp"

namespace stepper_sim {

/// The belief of the machine file alone.
Estimate belief_before(const TrialPrior& prior);

struct Prediction {
    double value = 0.0;       // SI; of the loss, or for a resonance trial its frequency
    bool slips = true;        // false: nothing is lost within reach
    UnknownArray gradient{};  // of the logarithm of `value`
};

/// The value for unknowns moved by `logarithms`, without a gradient. `guess` 0: none.
Prediction predict_value(const TrialRig& rig, const TrialPrior& prior, const RungMotion& motion,
                         const UnknownArray& logarithms, double guess);

/// With the gradient there. Costs five times as much.
Prediction predict(const TrialRig& rig, const TrialPrior& prior, const RungMotion& motion,
                   const UnknownArray& logarithms);

}  // namespace stepper_sim
