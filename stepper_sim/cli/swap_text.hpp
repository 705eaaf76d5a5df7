/// Reads what --swap says into a Swap: `supply=48 V`, `motor=motors/NAME.toml`, several joined by '+'. What a swap does to an axis is
/// stepper_sim/limits/compare_motors.hpp's business.
#pragma once

#include <optional>
#include <string>

#include "stepper_sim/cli/invocation.hpp"
#include "stepper_sim/limits/compare_motors.hpp"

namespace stepper_sim::cli {

/// One --swap. Part files are looked for from here, then where the machine file's own parts are. Prints one line of error for each
/// fault and returns nothing where there is one.
std::optional<limits::Swap> swap_of(const std::string& text, const Invocation& invocation);

}  // namespace stepper_sim::cli
