/// The report as text for a terminal of 80 columns: verdict first, then the one thing to change, then the figures.
#pragma once

#include <string>

#include "stepper_sim/check/report.hpp"

namespace stepper_sim {

/// `colour`: ANSI colours beside the words, never instead of them.
std::string to_text(const Report& report, bool colour);

/// "thin: motor Y: 0.21 N m asked ..." on one line.
std::string to_line(const Report& report);

}  // namespace stepper_sim
