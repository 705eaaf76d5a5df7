/// The pipeline, from a program file to its result, in bounded memory: the file to start reading from.
///
///     text -> commands -> moves -> planned moves -> motor moves -> pulses and demand -> ProgramResult
///
/// Each stage takes a chunk from the one before; nothing reaches back.
#pragma once

#include <filesystem>
#include <functional>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/check/demand.hpp"
#include "stepper_sim/check/program_result.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim {

/// Called now and then with the share of the file read, 0 to 1.
using ProgressCall = std::function<void(double)>;

/// Runs one program. Errors: program/unreadable, program/empty, program/nothing-moves and every error of the program reader.
planner::Result<ProgramResult> run_program(const Machine& machine, const MotorModels& models,
                                           const std::filesystem::path& file,
                                           const ProgressCall& progress = {});

}  // namespace stepper_sim
