/// Finds answers of one axis that cannot both be true, before anything is fitted to them. A part of fit.hpp.
/// Model:   answers scatter normally about the truth, with the errors that fit.hpp gives them
/// Formula: frequencies: |ln(f1/f2)| > 3 hypot(e1, e2); rungs: held at more than 1.15 of what lost; a pull beyond 3 errors either way
/// Symbols: f = frequency heard [Hz], e = its relative error
/// Valid:   rungs of the same question whose other settings are within 2 %
/// Source:  three errors: common practice, no source; Guess: 1.15, more than a rung and five times the error of repeating
/// Checked by: Fit.RefusesContradictionsAndNamesBothEntries, Fit.RefusesFrequenciesThatDisagree, Fit.RefusesATorqueAndALossThatDisagree
#pragma once

#include <span>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/trial/trial_sheet.hpp"

namespace stepper_sim::trial {

/// An answer and how far it lies from what was fitted, in its own errors: above 0 where the fit lies above it.
struct Answer {
    planner::Place place;
    std::string text;  // "lost at 1500 mm/s^2"
    double pull = 0.0;
    bool wants_less = false, wants_more = false;  // of the axis's torque
    double stray = 0.0;      // logarithm by which the fit contradicts it; 0: it does not
    std::string expected{};  // by the fit: "a loss at 2100 mm/s^2"
    bool measured = false;   // a value, not a rung that held or lost
};

planner::Diagnostic contradiction(const Answer& first, const Answer& second);

/// Pairs that disagree whatever the machine: lost under conditions that held with clearly more, frequencies apart. One per kind.
std::vector<planner::Diagnostic> contradictions(std::span<const TrialSheet* const> sheets);

/// The pair that pulls a fit hardest in opposite directions, if both do by more than three errors.
std::vector<planner::Diagnostic> contradictions(std::span<const Answer> answers);

/// Answers that the fit contradicts by more than three of their errors.
std::vector<Answer> outliers(std::span<const Answer> answers);

/// The one of the outliers that lies farthest off, if by more than a factor of one and a half, and the measured value that pulls the fit
/// there.
std::vector<planner::Diagnostic> far_outliers(std::span<const Answer> outliers);

/// "y.toml:12:3"
std::string place_text(const planner::Place& place);

}  // namespace stepper_sim::trial
