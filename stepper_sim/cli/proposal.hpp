/// The values that hold for the machine and the programs of a command line, and what they are worth: what `limits` prints and
/// `check --limits` puts on its page.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "stepper_sim/cli/invocation.hpp"
#include "stepper_sim/limits/proposal.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::cli {

/// Shows progress; nothing, with errors printed, where a program cannot be run.
std::optional<limits::Proposal> propose(const machine::Machine& machine, double margin,
                                        std::span<const run::ProgramSource> programs);

/// The programs of a command line.
std::vector<run::ProgramSource> programs_of(const Invocation& invocation);

}  // namespace stepper_sim::cli
