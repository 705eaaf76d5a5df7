/// A program's file, opened; and a reading of it for its words alone, without a plan: also of a program with errors.
#pragma once

#include <cstdio>
#include <memory>
#include <string>
#include <vector>

#include "planner/program/program_notes.hpp"
#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::run {

struct ProgramText {
    std::unique_ptr<std::FILE, int (*)(std::FILE*)> file;
    double size_bytes = 1.0;  // at least 1
};

planner::Diagnostic unreadable_program(const std::string& name, std::string why);

/// Errors: program/unreadable.
planner::Result<ProgramText> open_program(const std::string& name);

struct ProgramWords {
    std::string file;
    planner::ProgramNotes notes;
    std::vector<planner::Diagnostic> errors;  // of the program reader
};

/// Errors: program/unreadable.
planner::Result<ProgramWords> read_program_words(const machine::Machine& machine,
                                                 const std::string& name);

}  // namespace stepper_sim::run
