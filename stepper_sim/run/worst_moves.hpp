/// The worst moves that settings alone allow, whatever the program, as programs in memory: what a part not yet drawn may ask.
/// Quasi-static extremes of the settings: worst_motions.hpp. Next: run_program.hpp runs these like any program.
/// Model:   each axis alone makes single strokes of every useful length, and short zig-zags whose reversals sweep the frequency range
///          of the axis; pairs of axes turn corners
/// Formula: stroke of duration T: (c + p) T/2, p = c + a T/2, while p <= v, else v T - (v - c)^2/a; zig-zags: T = 1/(2 f), f rising by 8 %
///          from 1/6 of the slowest mode's to 1.5 of the fastest's; cruises of 0.2 s at speeds 10 % apart
/// Symbols: c, v = corner and top speed [m/s], a = acceleration [m/s^2], f = frequency of the reversals [Hz]
/// Valid:   inside the travel, and no shorter than a full step
/// Source:  Newton; the grids are guesses
/// Checked by: WorstMoves.StrokesTakeTheTimeAskedFor, WorstMoves.StayInsideTheTravelAndEndWhereTheNextBegins
#pragma once

#include <vector>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::run {

/// Strokes of one zig-zag. Guess: thin walls and filled corners make this many before their length changes; a program with longer ones
/// must be checked itself.
inline constexpr int kZigZagStrokes = 8;

/// The moves of one axis, strokes and zig-zags; on crossed belts those of X hold both diagonals too.
std::vector<ProgramSource> worst_moves(const machine::Machine& machine, const MotorModels& models,
                                       int slot);

/// Right-angled staircases of X with Y, with legs from short to long: one program, or none where the machine has not both.
std::vector<ProgramSource> worst_corners(const machine::Machine& machine);

/// All of them: those of each axis, and the corners.
std::vector<ProgramSource> worst_programs(const machine::Machine& machine,
                                          const MotorModels& models);

}  // namespace stepper_sim::run
