/// The stages of planning wired together; plan_file.cpp feeds it blocks of text. Start reading here.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "planner/kinematics/motor_moves.hpp"
#include "planner/lookahead/lookahead.hpp"
#include "planner/path/path_builder.hpp"
#include "planner/program/program_reader.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim {

/// Each stage takes a chunk from the one before; nothing reaches back.
struct Stages {
    planner::ProgramReader reader;
    planner::PathBuilder path;
    planner::LookAhead look_ahead;
    planner::MotorMover mover;

    std::vector<planner::Command> commands;
    std::vector<planner::Move> moves;
    std::vector<planner::PlannedMove> planned;
    std::vector<planner::MotorMove> motor_moves;

    Stages(const Machine& machine, const std::string& file_name)
        : reader(machine.program, file_name),
          path(machine.program, machine.planning.arc_tolerance),
          look_ahead(plan_limits(machine)),
          mover(machine.kinematics, machine.program.axes) {}

    /// The motor moves that became final with this block of text; valid until the next call.
    std::span<const planner::MotorMove> read(std::string_view block) {
        commands.clear();
        reader.read(block, commands);
        return plan(false);
    }

    /// The rest of them, or the next few of those that loops give: call it until `finished`.
    std::span<const planner::MotorMove> finish() {
        commands.clear();
        finished = reader.finish(commands, kCommandsAtOnce);
        return plan(finished);
    }
    // About as many as a block of text gives.
    static constexpr std::size_t kCommandsAtOnce = 512;
    bool finished = false;

    /// Moves that come from no program text.
    std::span<const planner::MotorMove> take(std::span<const planner::Move> given, bool last) {
        planned.clear();
        look_ahead.push(given, planned);
        if (last) look_ahead.finish(planned);
        motor_moves.clear();
        mover.push(planned, motor_moves);
        return motor_moves;
    }

  private:
    std::span<const planner::MotorMove> plan(bool last) {
        moves.clear();
        path.push(commands, moves);
        return take(moves, last);
    }
};

}  // namespace stepper_sim
