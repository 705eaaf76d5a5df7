/// A planned move as the motors see it: the hand-over from planner/ to stepper_sim/. One set of phases serves all motors.
/// Model:   every motor's position is linear in the distance along the move, as every axis's is (kinematics.hpp is a matrix)
/// Formula: q = start + (end - start) s / length, for each motor and each axis
/// Symbols: q = position of a motor's belt or nut, or of an axis [m], s = distance along the move [m]
/// Valid:   straight moves; arcs have become chords
/// Source:  derived here: a linear map keeps lines straight
/// Checked by: MotorMoves.CarryTheirMoveAndBothPaths, MotorMoves.JoinWithoutGapInPositionSpeedAndTime
#pragma once

#include <cstdint>

#include "planner/path/move.hpp"
#include "planner/profile/phase.hpp"

namespace planner {

struct MotorMove {
    std::uint64_t line = 0;       // program line, from 1
    double length_m = 0.0;        // path length the phases run over
    ProgramTime start;            // when its first phase begins (after rest_before_s, if any)
    double rest_before_s = -1.0;  // as in Move
    bool rapid = false;
    bool arc_chord = false;
    Profile profile;
    AxisArray tool_start_m{}, tool_end_m{};  // axis positions, by axis slot
    // Motor positions in metres of belt or nut travel, by motor slot: the axis that names the motor.
    AxisArray motor_start_m{}, motor_end_m{};
};

}  // namespace planner
