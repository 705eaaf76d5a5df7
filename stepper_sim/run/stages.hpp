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

namespace stepper_sim::run {

/// Guess: as many as lines in a block of text (plan_file.cpp), which fit the second-level cache.
inline constexpr std::size_t kMovesAtOnce = 1024;

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

    Stages(const machine::Machine& machine, const std::string& file_name)
        : reader(machine.program, file_name),
          path(machine.program, machine.planning.arc_tolerance),
          look_ahead(machine::plan_limits(machine)),
          mover(machine.kinematics, machine.program.axes) {}

    /// The first motor moves that became final with this block of text; valid until the next call.
    std::span<const planner::MotorMove> read(std::string_view block) {
        commands.clear();
        done = 0;
        reader.read(block, commands);
        return more();
    }

    /// The end of the text; likewise the first of the rest, or of the next few that loops give: call
    /// it until `ended`.
    std::span<const planner::MotorMove> finish() {
        commands.clear();
        done = 0;
        last = reader.finish(commands, kMovesAtOnce);
        return more();
    }

    /// Whether more() has moves of the block that was read last.
    bool has_more() const { return done < commands.size(); }
    bool ended() const { return last && !has_more(); }

    /// So many more of them that memory does not grow with what a line of text asks for.
    std::span<const planner::MotorMove> more() {
        moves.clear();
        done += path.push_some(std::span(commands).subspan(done), kMovesAtOnce, moves);
        return take(moves, ended());
    }

    /// Moves that come from no program text.
    std::span<const planner::MotorMove> take(std::span<const planner::Move> given, bool ends) {
        planned.clear();
        look_ahead.push(given, planned);
        if (ends) look_ahead.finish(planned);
        motor_moves.clear();
        mover.push(planned, motor_moves);
        return motor_moves;
    }

  private:
    std::size_t done = 0;  // of the commands
    bool last = false;
};

}  // namespace stepper_sim::run
