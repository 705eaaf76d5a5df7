/// Reads a machine file: TOML to a Machine with every value range-checked. What a legal machine
/// cannot do (a current above the motor's, microsteps the driver lacks) is not an error here but a
/// finding of stepper_sim/check. Parts named by file are looked for in the machine file's folder,
/// its parent folder, then each catalogue folder.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::machine {

/// Errors: any machine/ and units/ id (tests/golden/errors), up to a hundred at once, those of the
/// machine file before those of part files, in the order of their places. A syntax error stops the
/// reading of its file. Never hangs on a pipe or device.
planner::Result<Machine> read_machine(const std::filesystem::path& file,
                                      const std::vector<std::filesystem::path>& catalogue_folders);

/// The same from text: `name` is the file it stands for, in messages and for finding parts.
planner::Result<Machine> read_machine_text(
    std::string_view text, const std::string& name,
    const std::vector<std::filesystem::path>& catalogue_folders);

}  // namespace stepper_sim::machine
