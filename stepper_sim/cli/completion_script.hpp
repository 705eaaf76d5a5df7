/// Shell completion made from the command table: what the tab key offers is what the parser takes.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/cli/invocation.hpp"

namespace stepper_sim::cli {

/// To be sourced by bash: `source <(stepper_sim completion bash)`.
std::string bash_completion(std::span<const CommandRow> commands);
/// To be sourced by zsh after compinit, or saved as _stepper_sim in a folder of $fpath.
std::string zsh_completion(std::span<const CommandRow> commands);

}  // namespace stepper_sim::cli
