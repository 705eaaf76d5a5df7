/// The values that hold for the machine and the programs of a command line, and what they are worth: what `limits` prints and
/// `check --limits` puts on its page.
#pragma once

#include <optional>

#include "stepper_sim/cli/invocation.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/tune/limits.hpp"
#include "stepper_sim/tune/time_value.hpp"

namespace stepper_sim::cli {

struct Proposal {
    Limits limits;
    std::optional<TimeValue> time;  // where there are programs
};

/// Shows progress; nothing, with errors printed, where a program cannot be run.
std::optional<Proposal> propose(const Machine& machine, double margin,
                                const Invocation& invocation);

}  // namespace stepper_sim::cli
