/// All that `limits` says of a machine and its programs.
#pragma once

#include <optional>

#include "stepper_sim/check/measure_next.hpp"
#include "stepper_sim/limits/corner_quality.hpp"
#include "stepper_sim/limits/limits.hpp"
#include "stepper_sim/limits/time_value.hpp"

namespace stepper_sim::limits {

struct Proposal {
    Limits limits;
    std::optional<check::Measurement> measure_next;  // at the values that just hold
    // Where there are programs:
    std::optional<TimeValue> time;
    std::optional<CornerQuality> corners;
};

}  // namespace stepper_sim::limits
