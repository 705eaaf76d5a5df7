/// The beginning of a program, kept as moves, so that it is planned again and again with other settings: at what time given steps
/// come. Bounded.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "planner/path/move.hpp"
#include "stepper_sim/capture/capture_order.hpp"
#include "stepper_sim/capture/capture_scales.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::capture {

struct ProgramHead {
    std::vector<planner::Move> moves;
    std::size_t steps = 0;  // so many, of all motors together, are planned as in the whole program
};

/// Moves for so many steps, and some more for the look-ahead; fewer at the program's end. Empty where it cannot be read.
ProgramHead read_program_head(const machine::Machine& machine, const run::ProgramSource& program,
                              std::size_t steps);

PlannedSteps planned_steps(const machine::Machine& machine, const ProgramHead& program);

/// Planned times of these steps with scaled settings, in their order; nothing where one is not reached. Of one motor they ascend.
std::optional<std::vector<double>> step_times_s(const machine::Machine& machine,
                                                const ProgramHead& program,
                                                const SettingScales& scales,
                                                std::span<const OrderedStep> steps);

}  // namespace stepper_sim::capture
