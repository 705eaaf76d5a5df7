/// What a machine is checked on: the programs given, or where there are none the worst moves that its settings allow.
#pragma once

#include <span>
#include <vector>

#include "stepper_sim/run/run_program.hpp"

namespace stepper_sim::run {

/// Nothing where neither programs nor dynamics are wanted: the settings alone are judged.
std::vector<ProgramSource> sources_of(const machine::Machine& machine, const MotorModels& models,
                                      std::span<const ProgramSource> programs,
                                      const RunOptions& options);

/// Runs them one after the other. Errors: those of run_program.hpp, of the first that cannot be run.
planner::Result<std::vector<ProgramResult>> run_sources(const machine::Machine& machine,
                                                        const MotorModels& models,
                                                        std::span<const ProgramSource> sources,
                                                        const RunOptions& options,
                                                        const ProgressCall& progress = {});

}  // namespace stepper_sim::run
