/// The planning half of the pipeline over one program, in bounded memory:
///
///     text -> commands -> moves -> planned moves -> motor moves -> the caller
///
/// What is done with the motor moves (pulses, demand, screen) is run_program.hpp's business.
#pragma once

#include <functional>
#include <span>

#include "planner/kinematics/motor_move.hpp"
#include "planner/program/program_notes.hpp"
#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::run {

/// Called now and then with the share of the program read, 0 to 1.
using ProgressCall = std::function<void(double)>;

/// Takes the next moves in program order, on any thread, call by call; false: it needs no more.
using MotorMoveSink = std::function<bool(std::span<const planner::MotorMove>)>;

struct PlannedFile {
    planner::ProgramNotes notes;
    double trailing_rest_s = 0.0;  // dwells that no move followed
};

/// Plans the program and hands its moves to `sink`. Errors: program/unreadable, program/empty and
/// every error of the program reader; moves before an error have then been handed on.
planner::Result<PlannedFile> plan_file(const machine::Machine& machine,
                                       const ProgramSource& program, const MotorMoveSink& sink,
                                       const ProgressCall& progress = {});

/// Takes the next moves of the path; false: it needs no more.
using PathSink = std::function<bool(std::span<const planner::Move>)>;

/// Hands the path to `sink`, as no setting of an axis has touched it yet. Errors: those of plan_file, of what was read.
planner::Result<PlannedFile> read_path(const machine::Machine& machine,
                                       const ProgramSource& program, const PathSink& sink);

/// Guess: a program is kept in memory up to so many moves, 10 MB; a longer one is read again and again.
inline constexpr std::size_t kMostKeptMoves = 50000;

/// The program with its moves, so that its text is read no more, for machines that differ in the settings of axes and in corners only;
/// as it is where they are too many. Errors: those of plan_file.
planner::Result<ProgramSource> read_once(const machine::Machine& machine,
                                         const ProgramSource& program,
                                         std::size_t most = kMostKeptMoves);
/// Likewise of all.
planner::Result<std::vector<ProgramSource>> read_once(const machine::Machine& machine,
                                                      std::span<const ProgramSource> programs);

}  // namespace stepper_sim::run
