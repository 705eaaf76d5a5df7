/// The machine file of what was described: every value that nobody gave is marked "assumed" in a comment, with its band and where it
/// comes from. Text only: describe_command.cpp asks, and writes it.
#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/cli/describe_answers.hpp"

namespace stepper_sim::cli {

/// The file's text; it was read back, so `check` reads it too. Errors: those of read_machine.hpp (a value out of range).
planner::Result<std::string> machine_text(const Described& machine,
                                          const std::vector<std::filesystem::path>& catalogue);

}  // namespace stepper_sim::cli
