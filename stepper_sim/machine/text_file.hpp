/// Reads a small text file whole, and never hangs: what is not a regular file (folder, pipe,
/// device) is refused unopened.
#pragma once

#include <filesystem>
#include <string>

#include "planner/units/diagnostic.hpp"

namespace stepper_sim::machine::reading {

inline constexpr std::size_t kMaxFile_bytes = std::size_t{4}
                                              << 20U;  // a machine file has a few thousand

/// The file's bytes, unchecked.
/// Errors: machine/no-file, machine/unreadable-file (folder, pipe, device, no permission),
/// machine/file-too-large.
planner::Result<std::string> read_text_file(const std::filesystem::path& file);

}  // namespace stepper_sim::machine::reading
