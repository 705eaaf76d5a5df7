/// What a fit learnt, as values of the machine file, and a copy of the file's text that holds them: each with a comment above its
/// line that says where it comes from and what stood there; every other byte stays.
/// Model:   the factors of trial_prior.hpp, on what the machine file says
/// Formula: value = value before * exp(u); running factor = nominal torque at rest * exp(u) / the same with a running factor of 1
/// Symbols: u = logarithm of the factor the fit found [-]
/// Valid:   unknowns of which the sheets say something; a stiffness that the file does not give begins at the middle of its class; of rigid
///          axes the spring's factor is the mass's; on crossed belts friction and mass, which two motors share, are left out
/// Source:  derived here
/// Checked by: Fit.WritesItsValuesIntoACopyThatReadsBackAndLeavesTheRest, Fit.AMeasuredFrequencyMovesTheStiffnessAndLittleElse
#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/trial/fit.hpp"

namespace stepper_sim::trial {

struct FittedValue {
    char letter = 'X';
    std::string key;     // below axes.LETTER: "running_factor", "load.friction"
    std::string before;  // for a person; empty: a default, or several things at once
    std::string value;   // as TOML: "0.81", "\"3.9 N\""
    std::string source;  // "fitted: +-4 %, from y1.toml and y2.toml"
};

/// The values of which the sheets say something. On crossed belts friction and mass, which two motors share, are left out.
std::vector<FittedValue> fitted_values(const machine::Machine& machine,
                                       const run::MotorModels& models,
                                       std::span<const AxisFit> fits);

/// `text`, the machine file, with the values in it. Errors: machine/not-toml; trial/cannot-write where the file has no place for a
/// value, because the axis is an inline table or stands in a part file.
planner::Result<std::string> with_fitted(std::string_view text, const std::string& file,
                                         std::span<const FittedValue> values);

}  // namespace stepper_sim::trial
