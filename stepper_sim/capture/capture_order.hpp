/// Pairs the steps of a trace with those of a plan by their order alone, whatever their times: other settings change when a step
/// comes, and not which way it goes nor what the other motors have done by then.
/// Model:   from the beginning of the program on, step by step of each motor; where the directions part, up to 8 steps of either
///          side are left out, the fewest after which 12 agree again
/// Formula: the same order: of each motor no more than 2 and one in a hundred left out; at 19 of 20 places of the trace the other
///          motors stand within 8 steps of where they stand in the plan when that step comes
/// Symbols: none
/// Valid:   the trace begins with the program; a lost step in a stretch of one direction shows at its end
/// Source:  Guess: all of these numbers
/// Checked by: StepOrder.*
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "planner/program/axis_set.hpp"
#include "stepper_sim/capture/capture_agree.hpp"
#include "stepper_sim/capture/capture_motor.hpp"

namespace stepper_sim::capture {

/// A step of the trace and the planned one it is.
struct OrderedStep {
    std::size_t motor = 0, planned = 0;  // slot, and place among the motor's planned steps
    std::int64_t seen_ps = 0;
};

using PlannedSteps = std::array<std::vector<PlannedPulse>, planner::kMaxAxes>;
using SeenSteps = std::array<std::vector<CapturedPulse>, planner::kMaxAxes>;

/// By time in the trace; nothing where the order is another. `motors`: those that the trace shows.
std::optional<std::vector<OrderedStep>> in_same_order(const PlannedSteps& plan,
                                                      const SeenSteps& seen,
                                                      const std::vector<std::size_t>& motors);

}  // namespace stepper_sim::capture
