/// Learns from filled trial sheets: friction, running factor, stiffness (or mass) and damping of each axis that was tried.
/// It changes no file: fitted_machine.hpp writes the values. Give all sheets of a machine together with the file they were made from.
/// Model:   trial_prior.hpp for what was believed, the full model for what a rung would do, map_estimate.hpp for the best guess;
///          where limits are not straight in the unknowns they are straightened again at each new guess
/// Formula: rung held at v: ln(limit/v) above 0; lost: below 0; frequency, torque, ripples: measured logarithms;
///          damping ratio from n ripples down to a tenth: ln(10)/(2 pi n)
/// Symbols: limit = lowest value that slips (trial_limit.hpp), v = value of the rung, n = ripples
/// Valid:   one sheet at a time may be off by its error; sheets that contradict each other are refused, and so is a fit far outside an
///          answer
/// Source:  errors: Guess: 5 % for repeating a loss on one machine (the model itself slips now and then a tenth early), 8 % for a rung heard loudest (rungs are 6 % apart, and neighbours are often as loud), 2 % for a measured
///          frequency, 10 % for a torque, 30 % for counted ripples
/// Checked by: Fit.*, bench/trial_study.cpp
#pragma once

#include <span>
#include <string>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/trial/contradiction.hpp"
#include "stepper_sim/trial/trial_belief.hpp"
#include "stepper_sim/trial/trial_sheet.hpp"

namespace stepper_sim::trial {

inline constexpr double kLossError = 0.05;
inline constexpr double kHeardError = 0.08;
inline constexpr double kFrequencyError = 0.02;
inline constexpr double kTorqueError = 0.10;
inline constexpr double kRippleError = 0.30;

/// What a sheet's trial was and is now expected to show.
struct SheetFit {
    std::string file;
    RungMotion motion;
    Prediction before, after;
    double spread_before = 0.0, spread_after = 0.0;  // of the logarithms
};

struct AxisFit {
    int slot = 0;
    char letter = 'X';
    TrialPrior prior;
    Estimate before, after;
    std::vector<SheetFit> sheets;
    bool far_off = false;  // an unknown ends more than three spreads from where it was believed
    std::vector<Answer> outliers;  // which the fitted axis does not reproduce

    /// The sheets say something of it: its spread has fallen or its value has moved.
    bool learnt(Unknown unknown) const;
};

/// By axis slot, those that have sheets. Errors: trial/contradiction, naming the two entries that disagree; trial/outlier, an answer that the
/// fit is far from.
planner::Result<std::vector<AxisFit>> fit(const machine::Machine& machine,
                                          const run::MotorModels& models,
                                          std::span<const TrialSheet> sheets);

/// The fit of all sheets of a machine.
struct FittedSheets {
    std::vector<AxisFit> axes;          // empty for no sheets
    std::vector<std::string> recorded;  // what their captures say, a line each
};

}  // namespace stepper_sim::trial
