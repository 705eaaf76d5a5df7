/// What the `trial` command says of the trial it wrote, as text and as JSON. The sheets and the program themselves: trial/.
#pragma once

#include <string>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/trial/trial.hpp"

namespace stepper_sim::report {

/// `findings`: about ratings and travel, of the trial run at the settings of its last rung.
std::string trial_text(const trial::Trial& trial, const check::Findings& findings);
std::string trial_json(const machine::Machine& machine, const trial::Trial& trial,
                       const check::Findings& findings);

}  // namespace stepper_sim::report
