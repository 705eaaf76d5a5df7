/// The stages of the pipeline wired together; run_program.cpp feeds it blocks of text.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "planner/kinematics/motor_moves.hpp"
#include "planner/lookahead/lookahead.hpp"
#include "planner/path/path_builder.hpp"
#include "planner/program/program_reader.hpp"
#include "stepper_sim/check/demand.hpp"
#include "stepper_sim/controller/pulse_run.hpp"

namespace stepper_sim {

struct Stages {
    planner::ProgramReader reader;
    planner::PathBuilder path;
    planner::LookAhead look_ahead;
    planner::MotorMover mover;
    PulseRun pulses;
    Demand demand;

    std::vector<planner::Command> commands;
    std::vector<planner::Move> moves;
    std::vector<planner::PlannedMove> planned;
    std::vector<planner::MotorMove> motor_moves;

    Stages(const Machine& machine, const MotorModels& models, const std::string& file_name)
        : reader(machine.program, file_name),
          path(machine.program, machine.planning.arc_tolerance),
          look_ahead(plan_limits(machine)),
          mover(machine.kinematics, machine.program.axes),
          pulses(machine),
          demand(machine, models) {}

    void read(std::string_view block) {
        commands.clear();
        reader.read(block, commands);
        plan(false);
    }

    void finish() {
        commands.clear();
        reader.finish(commands);
        plan(true);
        pulses.finish();
    }

  private:
    void plan(bool last) {
        moves.clear();
        path.push(commands, moves);
        planned.clear();
        look_ahead.push(moves, planned);
        if (last) look_ahead.finish(planned);
        motor_moves.clear();
        mover.push(planned, motor_moves);
        pulses.push(motor_moves);
        demand.push(motor_moves);
    }
};

}  // namespace stepper_sim
