/// One program through the whole pipeline with its pictures recorded: run_program.hpp with a Recorder in it, its findings, and a second
/// look at their moments. Costs about twice what run_program alone does.
#pragma once

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/picture/recording.hpp"
#include "stepper_sim/run/run_program.hpp"

namespace stepper_sim::picture {

struct RecordedProgram {
    run::ProgramResult result;
    Recording recording;
    check::Findings findings;  // of this program alone, in the order of recording.places
};

/// Errors: those of run_program.hpp.
planner::Result<RecordedProgram> record_program(const machine::Machine& machine,
                                                const run::MotorModels& models,
                                                const run::ProgramSource& program,
                                                run::RunOptions options, double margin,
                                                const run::ProgressCall& progress = {});

}  // namespace stepper_sim::picture
