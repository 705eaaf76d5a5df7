/// A second look at a program for its pictures: where the tool was at each finding, the pulses and the simulated load angle around the
/// worst moments, and the text of the program's lines near findings. Ends after the last of these, in bounded memory.
#pragma once

#include <filesystem>
#include <span>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/check/finding.hpp"
#include "stepper_sim/picture/recording.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/program_result.hpp"

namespace stepper_sim::picture {

/// Moments looked at closely: the first findings that name a motor and a time, at most this many.
inline constexpr std::size_t kMostMoments = 3;
inline constexpr std::size_t kMostPulses = 60000;  // kept of one moment

/// Fills in moments, places and lines of `recording`; `findings` are those of this program alone, worst first. Without one that names
/// a motor and a time, the moment of the largest swing is taken. Errors: those of plan_file.hpp.
planner::Result<bool> record_moments(const machine::Machine& machine,
                                     const run::MotorModels& models,
                                     const run::ProgramSource& program,
                                     const run::ProgramResult& result,
                                     std::span<const check::Finding> findings, Recording& recording,
                                     const run::ProgressCall& progress = {});

}  // namespace stepper_sim::picture
