/// Sees every move of a program as it streams past, where more than the figures of a ProgramResult is wanted.
#pragma once

#include <span>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/run/slip_screen.hpp"

namespace stepper_sim::run {

class MoveWatcher {
  public:
    virtual ~MoveWatcher() = default;
    /// `ratios` belong to the moves; zeros where no screen was run.
    virtual void push(std::span<const planner::MotorMove> moves,
                      std::span<const MoveRatio> ratios) = 0;
};

}  // namespace stepper_sim::run
