/// Feeds the planner's moves to the screen: the bridge from path metres to motor radians.
#pragma once

#include <vector>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"

namespace stepper_sim {

/// The phases of one motor during a move, the rest before it first (if any). `rad_per_m`: motor
/// radians per metre of belt or nut.
void append_rate_phases(const planner::MotorMove& move, int slot, double rad_per_m,
                        std::vector<RatePhase>& phases);

/// Runs the screen over the move; times in the result count from the move's first phase (a peak in
/// the rest before it is negative).
MoveScreen screen_move(ModalScreen& screen, const planner::MotorMove& move, int slot,
                       double rad_per_m);

}  // namespace stepper_sim
