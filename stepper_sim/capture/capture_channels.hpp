/// Which lines of a trace carry which motor, where the names do not fit: exchanged motors, exchanged step and direction lines,
/// direction lines of each other.
/// Model:   the busiest line is sought in the plan of every motor; where it is found, the clock is known, and each line is
///          compared with each motor's steps at it
/// Formula: a line carries a motor: 9/10 of its rises and of the planned steps agree in time; a direction line: 9/10 of the
///          directions, or all but 1/10 of them (it counts the other way)
/// Symbols: none
/// Valid:   the settings that ran are the machine file's; motors with fewer than 24 steps in the beginning of the trace are not told
/// Source:  Guess: the shares
/// Checked by: CaptureChannels.*
#pragma once

#include <vector>

#include "stepper_sim/capture/capture_head.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::capture {

struct MotorChannels {
    std::size_t slot = 0;
    std::size_t step = 0, direction = 0;  // places among TraceHead::lines

    bool operator==(const MotorChannels&) const = default;
};

/// Of the motors that move; by slot.
using Channels = std::vector<MotorChannels>;

/// All ways to read the trace that fit the plan, as far as they were sought: one is an answer, more are none.
std::vector<Channels> fitting_channels(const machine::Machine& machine,
                                       const run::ProgramSource& program, const TraceHead& head);

bool as_named(const Channels& channels, const TraceHead& head);

/// The lines of every recorded motor under that reading; those that rest keep their own where they can. Says in `machine` which
/// lines are inverted.
std::vector<MotorLines> lines_under(const Channels& channels, const TraceHead& head,
                                    machine::Machine& machine);

}  // namespace stepper_sim::capture
