/// Simulates the suspicious windows of a program with the full motor model, fed with the pulses its
/// controller really emits. A second pass over the program gathers those pulses, so that memory
/// stays bounded; it ends after the last window.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/slip_result.hpp"
#include "stepper_sim/run/slip_screen.hpp"
#include "stepper_sim/run/window_memo.hpp"

namespace stepper_sim::run {

struct ConfirmOptions {
    int most_windows = 200;
    double margin = 0.0;       // of the low torque, that must stay unused
    bool pulses_late = false;  // the first pass saw late pulses
    SearchHints hints = {};    // all_hold only
};

/// Simulates at most `most_windows`, shared out between the motors and between windows of different kinds (slip_pick.hpp), the
/// riskiest of each first. Errors: those of plan_file.hpp.
planner::Result<SlipResult> confirm_slips(const machine::Machine& machine,
                                          const MotorModels& models, const ProgramSource& program,
                                          std::vector<MotorScreen> screens,
                                          const ConfirmOptions& options,
                                          const ProgressCall& progress = {});

struct HoldAnswer {
    bool holds = true;
    // The first that does not hold; none where windows were too many or too long.
    std::optional<SlipWindow> slip;
};

/// Whether every window holds; ends at the first that does not, and says no where more than `most_windows` would have to be simulated
/// or one is cut off. Errors: those of plan_file.hpp.
planner::Result<HoldAnswer> all_hold(const machine::Machine& machine, const MotorModels& models,
                                     const ProgramSource& program, std::vector<MotorScreen> screens,
                                     const ConfirmOptions& options);

}  // namespace stepper_sim::run
