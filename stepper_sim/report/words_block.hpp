/// The lines of [program.words] that a machine file lacks for its programs, ready to paste: every word that neither the standard nor the
/// file knows, how often it stands there and where first. What it does is for the user to fill in: nothing is guessed.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/run/program_text.hpp"

namespace stepper_sim::report {

/// `has_table`: the machine file has a table [program.words] already.
std::string words_block(const machine::Machine& machine,
                        std::span<const run::ProgramWords> programs, bool has_table);

}  // namespace stepper_sim::report
