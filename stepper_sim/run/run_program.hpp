/// One program through the whole pipeline, to its result, in bounded memory:
///
///     plan_file.hpp -> pulses, demand, slip screen -> full model of suspicious windows -> ProgramResult
///
/// What the result means is the checks' business (check.hpp).
#pragma once

#include <cstdint>
#include <optional>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/margin.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/program_result.hpp"
#include "stepper_sim/run/window_memo.hpp"

namespace stepper_sim::run {

class MoveWatcher;

/// Guess: what most people will wait for; more windows are reported as not simulated.
inline constexpr int kMostWindows = 200;

struct RunOptions {
    double margin =
        kDefaultMargin;    // share of the low torque that must stay unused in the dynamics too
    bool dynamics = true;  // screen for resonance and simulate suspicious windows
    int most_windows = kMostWindows;  // simulated at most, riskiest first
    bool cures = true;                // look for what cures each slip
    MoveWatcher* watcher = nullptr;   // sees every move too, where pictures are wanted
};

/// Runs one program. Errors: those of plan_file.hpp, program/nothing-moves.
planner::Result<ProgramResult> run_program(const machine::Machine& machine,
                                           const MotorModels& models, const ProgramSource& program,
                                           const RunOptions& options = {},
                                           const ProgressCall& progress = {});

/// What `run_until_slip` leaves: all figures of the first pass, and whether it holds.
struct HeldRun {
    ProgramResult result;  // its slips are empty
    bool holds = true;
    std::optional<SlipWindow> slip;  // the first found; none where windows were too many
};

/// Runs one program and stops at the first slip: for searches that run it many times. `motors`: bit m set: motor m is looked at for slips.
/// Errors: those of run_program.
planner::Result<HeldRun> run_until_slip(const machine::Machine& machine, const MotorModels& models,
                                        const ProgramSource& program, std::uint32_t motors,
                                        double margin, const SearchHints& hints = {});

}  // namespace stepper_sim::run
