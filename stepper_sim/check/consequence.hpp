/// Which finding matters most: of one grade, the one whose trouble costs most. The table, with a reason for each check, is in
/// consequence.cpp.
#pragma once

#include <span>
#include <string_view>

#include "stepper_sim/check/check.hpp"

namespace stepper_sim::check {

struct ConsequenceRow {
    std::string_view check;
    std::string_view reason;  // what happens where it objects
};

/// Every check, the gravest consequence first.
std::span<const ConsequenceRow> consequence_table();

/// Worst grade first, within a grade the gravest consequence, then as they stand.
void sort_by_consequence(Findings& findings);

}  // namespace stepper_sim::check
