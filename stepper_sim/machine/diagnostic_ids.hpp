/// Every diagnostic that reading quantities, parts and machines can give, with one example of each.
/// Program diagnostics are planner/program's. A test produces each example from an input.
#pragma once

#include <span>
#include <string_view>

namespace stepper_sim {

struct DiagnosticId {
    std::string_view id;
    std::string_view example;  // the line a user sees
};

std::span<const DiagnosticId> diagnostic_ids();

}  // namespace stepper_sim
