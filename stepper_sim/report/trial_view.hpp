/// What the `trial` command says of the trial it wrote, as text and as JSON. The sheets and the program themselves: trial/.
#pragma once

#include <string>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/trial/trial.hpp"

namespace stepper_sim {

/// `findings`: about ratings and travel, of the trial run at the settings of its last rung.
std::string trial_text(const Trial& trial, const Findings& findings);
std::string trial_json(const Machine& machine, const Trial& trial, const Findings& findings);

}  // namespace stepper_sim
