/// Designs one trial: which value of an axis to raise, from where, in which rungs, over which strokes, and where trouble is expected.
/// It writes nothing: trial_program.hpp makes the G-code, trial_text.hpp the sheet.
/// Model:   rungs of a ladder around the prediction, finer where earlier trials have narrowed it
/// Formula: from half the prediction p up by 10 % each; by min(e, 10 %), at least 1 %, from p exp(-3 e) to p exp(3 e); to p exp(3 e),
///          held within 1.2 to 1.8 p
/// Symbols: e = spread of the prediction's logarithm
/// Valid:   below the step-rate ceiling, and what the strokes let the axis reach
/// Source:  common practice, no source, for the 10 %; the rest are guesses
/// Checked by: Trial.RungsRiseByATenthFromHalfThePrediction, Trial.SweepsReversalsThroughTheResonance
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/trial/trial_belief.hpp"

namespace stepper_sim::trial {

/// Of the travel, centred: trials keep away from its ends.
inline constexpr double kTrialTravelShare = 0.8;
/// Common practice, no source: values are raised by 10 to 20 % from run to run.
inline constexpr double kRungRatio = 1.10;

struct Trial {
    std::string machine_name;
    char letter = 'X';
    TrialRig rig;
    RungMotion motion;          // value in question: the first rung's
    std::vector<double> rungs;  // rising, SI
    Prediction predicted;
    double spread = 0.0;  // of its logarithm
    std::optional<std::size_t>
        trouble;                       // first rung at or above the prediction; resonance: nearest
    planner::AxisArray reference_m{};  // the mark, where every rung begins and ends
    std::vector<std::string> notes;    // one sentence each
};

/// `belief`: belief_before() or what a fit of earlier trials left. `strokes`: those of an earlier trial of the same question, to be
/// repeated with finer rungs; not for resonance. Errors: trial/no-travel, trial/corners-by-deviation.
planner::Result<Trial> design_trial(const machine::Machine& machine, const run::MotorModels& models,
                                    int slot, TrialQuestion question, const Estimate& belief,
                                    const std::optional<RungMotion>& strokes = {});

/// The same with what the machine file alone says.
planner::Result<Trial> design_trial(const machine::Machine& machine, const run::MotorModels& models,
                                    int slot, TrialQuestion question);

/// The machine set to a rung, as the operator is told to set it.
machine::Machine set_to(machine::Machine machine, const Trial& trial, double value);

/// "1512 mm/s^2", "23.8 Hz": a rung's value for a person.
std::string rung_text(TrialQuestion question, double value);

}  // namespace stepper_sim::trial
