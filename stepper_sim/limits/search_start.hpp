/// Where the searches of limits.hpp begin. What the machine file is set to now counts for nothing, so that the answer is the machine's and
/// not the file's. A part of limits.hpp.
/// Model:   settings that follow from motor, driver, controller, wiring and load alone
/// Formula: v = min(base speed, 0.99 step-rate ceiling)/n; step = min(0.1 jump/n, v); acceleration = v/1 s
/// Symbols: n = axes that share a motor on a diagonal, jump = what the rotor follows at the low torque; all as axis travel [m/s]
/// Valid:   where a search begins decides how long it takes, not what holds; slips come in bands, so it may decide which
/// Source:  jump: motor/speed_step.hpp; Guess: the shares and the second
/// Checked by: SearchStart.KnowsNothingOfTheSettings
#pragma once

#include "stepper_sim/limits/axis_group.hpp"
#include "stepper_sim/run/demand.hpp"

namespace stepper_sim::limits {

/// Up to the base speed, where the motor has its full torque, or the step-rate ceiling; a speed step that the rotor follows easily; a gentle
/// acceleration.
GroupSettings start_settings(const machine::Machine& machine, const run::MotorModels& models,
                             const AxisGroup& group);

/// The machine with the start settings for these groups; other axes keep theirs.
machine::Machine start_machine(machine::Machine machine, const run::MotorModels& models,
                               std::span<const AxisGroup> groups);

}  // namespace stepper_sim::limits
