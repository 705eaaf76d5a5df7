/// A planned move as the motors see it. Every motor's position is linear in the distance s along
/// the move, for every supported kinematics, so one set of phases serves all motors:
/// q_m = start_m + (end_m - start_m) s / length.
/// This is the hand-over from planner/ to stepper_sim/.
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
