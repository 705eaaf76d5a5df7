/// The text of some lines of a program, made safe to print; a file of any size and with lines of any length is read in blocks.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <set>
#include <string>

namespace stepper_sim::picture {

inline constexpr std::size_t kMostLineBytes = 200;

/// The wanted lines that exist, by number from 1; longer ones are cut. Nothing when the file cannot be read.
std::map<std::uint64_t, std::string> program_lines(const std::filesystem::path& file,
                                                   const std::set<std::uint64_t>& wanted);

}  // namespace stepper_sim::picture
