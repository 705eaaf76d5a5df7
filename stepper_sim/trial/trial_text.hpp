/// The sheet of a trial, in two forms: Markdown to read at the machine, TOML to fill in and hand to `fit` (trial_sheet.hpp reads it).
#pragma once

#include <string>

#include "stepper_sim/trial/trial.hpp"

namespace stepper_sim::trial {

/// `program` and `sheet`: names of the files, for the instructions.
std::string trial_markdown(const machine::Machine& machine, const Trial& trial,
                           const std::string& program, const std::string& sheet);
std::string trial_sheet_toml(const machine::Machine& machine, const Trial& trial);

/// "the first loss of steps is expected between rungs 7 and 8, near 2210 mm/s^2 (likely 1870 to 2610)"
std::string expectation(const Trial& trial);

/// What the expected value does not cover; not for resonance.
std::string expectation_scope();

}  // namespace stepper_sim::trial
