/// Where and when something happened in a program.
#pragma once

#include <cstddef>
#include <cstdint>

#include "planner/kinematics/motor_move.hpp"

namespace stepper_sim::run {

struct Moment {
    std::uint64_t line = 0;   // program line
    double time_s = 0.0;      // since the program began
    double position_m = 0.0;  // of the axis that names the motor
};

/// Position of the axis in `slot` `after_s` into the move; before it (negative) it stands at the start.
double position_in(const planner::MotorMove& move, std::size_t slot, double after_s);

/// The moment `after_s` into the move, as the axis in `slot` sees it.
Moment moment_in(const planner::MotorMove& move, std::size_t slot, double after_s);

}  // namespace stepper_sim::run
