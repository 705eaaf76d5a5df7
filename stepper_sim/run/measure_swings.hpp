/// Puts what the full model says in the place of what the screen says of the largest swing and ringing of each axis: the screen finds
/// where they are and may tell twice the truth. Next: measured_swing.hpp.
#pragma once

#include <span>

#include "stepper_sim/run/slip_screen.hpp"

namespace stepper_sim {

/// Nominal machine, ideal pulses. Where it loses steps the screen's figures stay; of crossed belts the screen's swing stays too.
void measure_swings(const Machine& machine, const MotorModels& models,
                    std::span<MotorScreen> screens);

}  // namespace stepper_sim
