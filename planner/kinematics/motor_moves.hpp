/// Turns planned moves into motor moves: phases, the program's clock, and motor positions.
/// This is the last stage of planner/; stepper_sim/controller/ turns motor moves into step pulses.
#pragma once

#include <span>
#include <vector>

#include "planner/kinematics/kinematics.hpp"
#include "planner/kinematics/motor_move.hpp"
#include "planner/lookahead/planned_move.hpp"

namespace planner {

class MotorMover {
  public:
    MotorMover(Kinematics kinematics, AxisSet axes);

    /// Appends one motor move for each planned move, in order. The clock runs on from push to push,
    /// beginning at 0; a rest before a move passes before its start time.
    void push(std::span<const PlannedMove> planned, std::vector<MotorMove>& motor_moves);

    /// When the last motor move ends: the duration of the program so far.
    const ProgramTime& end() const { return clock_; }

  private:
    Kinematics kinematics_;
    AxisSet axes_;
    ProgramTime clock_;
};

}  // namespace planner
