/// The report as text for a terminal of 80 columns: verdict first, then the one thing to change, then the figures.
#pragma once

#include <string>
#include <string_view>

#include "stepper_sim/check/report.hpp"

namespace stepper_sim::report {

/// What every report says at its end.
inline constexpr std::string_view kCaution =
    "A prediction is not a proof. Keep clear of moving parts, keep the emergency stop in reach, "
    "run new settings slowly and unloaded "
    "first, stay within motor, driver and supply ratings, leave mains wiring to a qualified "
    "person; local rules come first.";

/// The same in a file of settings that is meant to be flashed.
inline constexpr std::string_view kCautionLine =
    "# A prediction is not a proof: first runs slow and unloaded, emergency stop in reach; local "
    "rules come first.\n";

/// A text of figures with the caution at its end.
std::string with_caution(std::string text);
/// A machine file with one line of caution at its top.
std::string with_caution_line(std::string file);

/// What the verdict means, in half a sentence.
std::string_view meaning(const check::Report& report);

/// "6.34 m, 0.32 m of filament".
std::string path_text(const check::ProgramSummary& program);

/// `colour`: ANSI colours beside the words, never instead of them.
std::string to_text(const check::Report& report, bool colour);

/// "Measure next" and a paragraph; empty for none.
std::string measure_text(const std::optional<check::Measurement>& measurement);

/// "thin: motor Y: 0.21 N m asked ..." on one line.
std::string to_line(const check::Report& report);

}  // namespace stepper_sim::report
