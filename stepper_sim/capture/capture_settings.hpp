/// Which other settings ran a program, where a trace shows its steps in the same order and at other times.
/// Model:   the program is planned again with scaled settings; the times between some 1000 steps of the trace are compared with
///          the planned ones
/// Formula: r = (planned - seen) / (seen + 0.2 ms); least mean of Huber's loss of r, bend at 0.05; first one scale alone, then more
///          of them while that makes the loss four times less
/// Symbols: planned, seen = times from one of these steps to the next [s]
/// Valid:   the trace begins with the program; a scale that its first 32768 steps do not feel stays 1; scales from 0.12 to 4.5 are sought
/// Source:  Huber's loss and Levenberg's damped least squares: textbook; Guess: the numbers
/// Checked by: CaptureSettings.*
#pragma once

#include <vector>

#include "stepper_sim/capture/capture_head.hpp"
#include "stepper_sim/capture/capture_scales.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::capture {

/// The scales that explain the trace best, and after them others that do so as well; empty: none do, or the steps are in another
/// order.
std::vector<SettingScales> fitting_scales(const machine::Machine& machine,
                                          const run::ProgramSource& program, const TraceHead& head);

}  // namespace stepper_sim::capture
