/// The text of the `limits` command: what holds, what binds, the lines to change, in tables that fit a terminal.
#pragma once

#include <string>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/tune/limits.hpp"

namespace stepper_sim::cli {

std::string limits_text(const Machine& machine, const Limits& limits);

}  // namespace stepper_sim::cli
