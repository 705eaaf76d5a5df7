/// Feeds the planner's moves to the screen: the bridge from path metres to motor radians.
/// Model:   a motor turns evenly with the path (motor_move.hpp)
/// Formula: w = v (q_end - q_start) / length * rad_per_m, acceleration alike
/// Symbols: w = motor speed [rad/s], v = path speed [m/s], q = position of belt or nut [m], length = of the path [m]
/// Valid:   straight moves; a rest before the move is a phase at no speed
/// Source:  none needed: the chain rule
/// Checked by: ScreenMove.MotorTurnsByItsShareOfThePath
#pragma once

#include <cstddef>
#include <vector>

#include "planner/kinematics/motor_move.hpp"
#include "planner/profile/motion.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"

namespace stepper_sim::dynamics {

/// Hands `sink` the phases of a move along its path, the rest before it first (if any), times `rad_per_path_m`.
template <class Sink>
void for_each_rate_phase(const planner::MotorMove& move, double rad_per_path_m, Sink&& sink) {
    if (move.rest_before_s >= 0.0) sink(RatePhase{move.rest_before_s, 0.0, 0.0});
    for (const planner::Phase& phase : planner::phases_of(move.profile))
        sink(RatePhase{phase.duration_s, planner::start_speed(phase) * rad_per_path_m,
                       planner::acceleration_at(phase, 0.0) * rad_per_path_m});
}

/// Motor radians per metre of path during a move.
inline double motor_share(const planner::MotorMove& move, std::size_t slot, double rad_per_m) {
    return (move.motor_end_m[slot] - move.motor_start_m[slot]) / move.length_m * rad_per_m;
}

/// The same of an axis: what a motor that moves it alone would turn.
inline double axis_share(const planner::MotorMove& move, std::size_t slot, double rad_per_m) {
    return (move.tool_end_m[slot] - move.tool_start_m[slot]) / move.length_m * rad_per_m;
}

/// The phases of one motor during a move, the rest before it first (if any). `rad_per_m`: motor
/// radians per metre of belt or nut.
void append_rate_phases(const planner::MotorMove& move, int slot, double rad_per_m,
                        std::vector<RatePhase>& phases);

/// Runs the screen over the move; times in the result count from the move's first phase (a peak in
/// the rest before it is negative).
MoveScreen screen_move(ModalScreen& screen, const planner::MotorMove& move, int slot,
                       double rad_per_m);

}  // namespace stepper_sim::dynamics
