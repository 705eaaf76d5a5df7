/// What is said of changes that findings propose: the words that all views share.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/check/report.hpp"

namespace stepper_sim::report {

/// The lines of the change to make first, as they stand in the machine file; none where there is nothing to propose.
std::vector<std::string> change_first_lines(const check::Report& report);

/// What checking it again said, or why nothing is proposed, in a sentence; empty where nothing needs changing.
std::string change_first_said(const check::Report& report);

/// "acceleration" for "max_acceleration"; other keys and names as they are, with blanks.
std::string setting_name(std::string_view key);

}  // namespace stepper_sim::report
