/// Which of the files and folders on a command line are machines and which are programs. Names decide, so that the answer can be told
/// in a sentence: a file named first is a machine, and so is every other that ends in .toml; any other file is a program. Folders are looked
/// through to the bottom: TOML files with the keys of a machine are machines, files with an ending that is usual for G-code are
/// programs, all else is left out and named. A file that cannot be read is kept: reading it will say why.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"

namespace stepper_sim::machine {

/// Endings of program files in folders; case does not matter. Common practice, no source.
inline constexpr std::string_view kProgramEndings = ".gcode .gco .gc .g .ngc .nc .cnc .tap";

struct LeftOut {
    std::string file, why;
};

struct InputFiles {
    std::vector<std::string> machines,
        programs;                   // in the order given, a folder's by name; each file once
    std::vector<LeftOut> left_out;  // found in folders
    std::vector<planner::Diagnostic> errors;  // folders that cannot be read
    bool has_folder = false;

    /// A machine and its programs, one by one: what `check` was made for.
    bool one_machine() const { return !has_folder && machines.size() == 1; }
};

/// Errors: files/no-machine; files/unreadable-folder and files/empty-folder, where nothing else is left to work on.
planner::Result<InputFiles> input_files(std::span<const std::string> given);

}  // namespace stepper_sim::machine
