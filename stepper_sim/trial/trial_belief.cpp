#include "stepper_sim/trial/trial_belief.hpp"

#include <algorithm>
#include <cmath>

namespace stepper_sim::trial {

namespace {

// A difference this wide is far above the grain of the limit (0.6 %).
constexpr double kDifference = 0.7;  // spreads
// Where the limit jumps from one cause to another a difference says little.
constexpr double kSteepest = 2.0;

}  // namespace

Estimate belief_before(const TrialPrior& prior) {
    Estimate belief;
    for (std::size_t i = 0; i < kUnknowns; ++i)
        belief.covariance[i][i] = prior.spread[i] * prior.spread[i];
    return belief;
}

Prediction predict_value(const TrialRig& rig, const TrialPrior& prior, const RungMotion& motion,
                         const UnknownArray& logarithms, double guess) {
    const dynamics::AxisDynamics axis = moved(prior.nominal, logarithms);
    Prediction prediction;
    if (motion.question == TrialQuestion::resonance) {
        prediction.value = resonance_Hz(axis);
        return prediction;
    }
    if (!(guess > 0.0)) guess = guess_limit(rig, axis, motion, dynamics::peak_torque_Nm(axis));
    const FoundLimit found = find_loss(rig, axis, motion, guess);
    prediction.value = found.value;
    prediction.slips = found.slips;
    return prediction;
}

Prediction predict(const TrialRig& rig, const TrialPrior& prior, const RungMotion& motion,
                   const UnknownArray& logarithms) {
    Prediction here = predict_value(rig, prior, motion, logarithms, 0.0);
    for (std::size_t i = 0; i < kUnknowns; ++i) {
        if (i == damping_unknown && dynamics::is_rigid(prior.nominal)) continue;
        UnknownArray beside = logarithms;
        beside[i] += kDifference * prior.spread[i];
        const Prediction there = predict_value(rig, prior, motion, beside, here.value);
        here.gradient[i] =
            std::clamp(std::log(there.value / here.value) / (kDifference * prior.spread[i]),
                       -kSteepest, kSteepest);
    }
    return here;
}

}  // namespace stepper_sim::trial
