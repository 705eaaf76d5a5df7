/// `check --words`: the lines that the machine file lacks for its programs, and nothing else.
#pragma once

#include "stepper_sim/cli/invocation.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::cli {

Exit print_words(const Invocation& invocation, const machine::Machine& machine);

}  // namespace stepper_sim::cli
