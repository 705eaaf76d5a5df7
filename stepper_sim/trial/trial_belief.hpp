/// What is believed of an axis, before or after trials, turned into what a trial will show: the value at which steps are first lost,
/// how sure that is, and what each unknown does to it.
/// Model:   trial_limit.hpp on the axis moved by the unknowns (trial_prior.hpp); nearly linear in their logarithms
/// Formula: gradient_i = ln(f(u + h e_i)/f(u))/h, h = 0.7 spread_i, held within +-2
/// Symbols: f = value of the loss, or the frequency of a resonance trial; u = logarithms of the unknowns
/// Valid:   h is far above the grain of a limit (0.6 %); where the limit jumps from one cause to another a difference says little
/// Source:  difference quotient: textbook; Guess: 0.7 and 2
/// Checked by: Fit.PredictsTheLimitThatTheSheetShows, TrialStudy.AFitDoesNotEndWorseWhereTheLimitJumps; bench/trial_study.cpp
#pragma once

#include "stepper_sim/trial/map_estimate.hpp"
#include "stepper_sim/trial/trial_limit.hpp"
#include "stepper_sim/trial/trial_prior.hpp"

namespace stepper_sim::trial {

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

}  // namespace stepper_sim::trial
