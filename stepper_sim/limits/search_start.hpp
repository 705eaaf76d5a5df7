/// Where the searches of limits.hpp begin: at settings that follow from motor, driver, controller, wiring and load alone. What the machine file
/// is set to now counts for nothing, so that the answer is the machine's and not the file's. A part of limits.hpp.
#pragma once

#include "stepper_sim/limits/axis_group.hpp"
#include "stepper_sim/run/demand.hpp"

namespace stepper_sim {

/// Up to the base speed, where the motor has its full torque, or the step-rate ceiling; a speed step that the rotor follows easily; a gentle
/// acceleration.
GroupSettings start_settings(const Machine& machine, const MotorModels& models,
                             const AxisGroup& group);

/// The machine with the start settings for these groups; other axes keep theirs.
Machine start_machine(Machine machine, const MotorModels& models,
                      std::span<const AxisGroup> groups);

}  // namespace stepper_sim
