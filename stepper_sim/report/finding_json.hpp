/// A finding as JSON, the same in every command's output.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>

#include "stepper_sim/check/finding.hpp"
#include "stepper_sim/check/measure_next.hpp"

namespace stepper_sim::report {

/// "x" for motor X, null for none.
nlohmann::ordered_json motor_json(char letter);

/// With the first of its changes, or an empty text.
nlohmann::ordered_json finding_json(const check::Finding& finding);

/// What to measure next, or null.
nlohmann::ordered_json measurement_json(const std::optional<check::Measurement>& measurement);

}  // namespace stepper_sim::report
