/// The version every report carries.
#pragma once

#include <string_view>

namespace stepper_sim::report {

inline constexpr std::string_view kVersion = "0.1.0";

}  // namespace stepper_sim::report
