/// Puts what the full model says in the place of what the screen says of the largest swing and ringing of each axis: the screen finds
/// where they are and may tell twice the truth. Next: measured_swing.hpp.
/// Model:   the full model of the nominal machine with ideal pulses, around the places the screen found
/// Formula: swing = sin(angle), past the peak of the torque angle/(pi/2); ringing = amplitude r
/// Symbols: angle = largest load angle [rad electrical], amplitude at the motor [rad], r = travel per radian [m]
/// Valid:   where the nominal machine loses steps the screen's figures stay; of crossed belts the screen's swing stays too
/// Source:  torque over load angle is a sine: P. Acarnley, Stepping Motors, static torque curves (from memory)
/// Checked by: ShippedPair.SwingAndRingingAreThoseOfTheFullModelOverTheWholeProgram
#pragma once

#include <span>

#include "stepper_sim/run/slip_screen.hpp"

namespace stepper_sim::run {

/// Nominal machine, ideal pulses. Where it loses steps the screen's figures stay; of crossed belts the screen's swing stays too.
void measure_swings(const machine::Machine& machine, const MotorModels& models,
                    std::span<MotorScreen> screens);

}  // namespace stepper_sim::run
