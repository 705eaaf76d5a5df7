/// Simulates the suspicious windows of a program with the full motor model, fed with the pulses its
/// controller really emits. A second pass over the program gathers those pulses, so that memory
/// stays bounded; it ends after the last window.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/check/demand.hpp"
#include "stepper_sim/check/plan_file.hpp"
#include "stepper_sim/check/slip_result.hpp"
#include "stepper_sim/check/slip_screen.hpp"

namespace stepper_sim {

/// Takes the `most_windows` riskiest windows of all motors. Errors: those of plan_file.hpp.
planner::Result<SlipResult> confirm_slips(const Machine& machine, const MotorModels& models,
                                          const ProgramSource& program,
                                          std::vector<MotorScreen> screens, int most_windows,
                                          const ProgressCall& progress = {});

struct HoldAnswer {
    bool holds = true;
    // The first that slips; none where windows were too many or too long.
    std::optional<SlipWindow> slip;
};

/// Whether every window holds at the low edge of the torque band; ends at the first that slips, and
/// says no where there are more than `most_windows` or one is cut off. Errors: those of plan_file.hpp.
planner::Result<HoldAnswer> all_hold(const Machine& machine, const MotorModels& models,
                                     const ProgramSource& program, std::vector<MotorScreen> screens,
                                     int most_windows);

}  // namespace stepper_sim
