/// Many machines with many programs at a glance: a row for each pair with verdict, time, worst use, place and main reason. Views of
/// check/check_pairs.hpp; the report of a single machine is text.hpp's.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/check/check_pairs.hpp"
#include "stepper_sim/machine/input_files.hpp"

namespace stepper_sim::report {

struct Summary {
    std::span<const check::PairReport> pairs;
    std::span<const machine::LeftOut> left_out;
    double margin = run::kDefaultMargin;
    bool all_read = true;  // false: a folder could not be read
};

/// "clear", "thin", "fault", or "unusable" where something could not be judged.
std::string_view verdict_word(const Summary& summary);

/// For a terminal of 80 columns.
std::string summary_text(const Summary& summary);

/// "fault: 1 fault, 2 thin, 5 clear" on one line.
std::string summary_line(const Summary& summary);

// Pieces that `limits` over several machines shares.
/// "file: name" on lines of its own; without a name the file.
std::string machine_heading(const std::string& file, const std::string& name);
/// The first, and how many more; empty where there is none.
std::string first_error(std::span<const planner::Diagnostic> errors);
/// A paragraph; empty where nothing was left out.
std::string left_out_text(std::span<const machine::LeftOut> left_out);

/// Schema stepper_sim.checks.1: checks.schema.json.
std::string summary_json(const Summary& summary);

}  // namespace stepper_sim::report
