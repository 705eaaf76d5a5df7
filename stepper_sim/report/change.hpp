/// A change that a finding proposes, taken apart: one line of the machine file each.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/check/report.hpp"

namespace stepper_sim {

struct SettingChange {
    char axis = 0;     // upper case; 0: not a setting of an axis
    std::string key;   // "max_acceleration", or the whole left side
    std::string to;    // "4030 mm/s^2"
    std::string now;   // the present value, where the report knows it
    std::string line;  // as it stands in the machine file
};

/// The parts of Finding::change, in order.
std::vector<SettingChange> changes_of(const Report& report, std::string_view change);

/// The finding whose change helps most: the first that is no note and proposes one; null when none does.
const Finding* first_change(const Report& report);

/// "acceleration" for "max_acceleration"; other keys and names as they are, with blanks.
std::string setting_name(std::string_view key);

}  // namespace stepper_sim
