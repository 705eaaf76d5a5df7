/// Puts settings into the text of a machine file, where the rest of the text stays as it is, byte for byte.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::limits {

/// `axes.y.settings.max_speed = "212 mm/s"` for every speed, acceleration and speed step of `wanted` that differs from `present`.
std::vector<std::string> setting_lines(const machine::Machine& wanted,
                                       const machine::Machine& present);

/// `text` with the same values replaced; `file` names it in messages. Errors: machine/not-toml, machine/missing-key where a
/// value to replace is not there.
planner::Result<std::string> with_settings(std::string_view text, const std::string& file,
                                           const machine::Machine& wanted,
                                           const machine::Machine& present);

}  // namespace stepper_sim::limits
