/// The text of the `limits` command: what holds, what binds, the lines to change, in tables that fit a terminal.
#pragma once

#include <string>

#include "stepper_sim/limits/limits.hpp"
#include "stepper_sim/limits/time_value.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::report {

std::string limits_text(const machine::Machine& machine, const limits::Limits& limits);

/// What the values with margin are worth on the programs given.
std::string worth_text(const limits::TimeValue& value);

}  // namespace stepper_sim::report
