/// The worst moves that settings alone allow, whatever the program, as programs in memory: what a part not yet drawn may ask. Each axis
/// alone makes single strokes of every useful length, and short zig-zags whose reversals sweep the whole frequency range of
/// the axis; pairs of axes turn corners. Quasi-static extremes of the settings: worst_motions.hpp. Next: run_program.hpp runs these like any program.
#pragma once

#include <vector>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim {

/// Strokes of one zig-zag. Guess: thin walls and filled corners make this many before their length changes; a program with longer ones
/// must be checked itself.
inline constexpr int kZigZagStrokes = 8;

/// The moves of one axis, strokes and zig-zags; on crossed belts those of X hold both diagonals too.
std::vector<ProgramSource> worst_moves(const Machine& machine, const MotorModels& models, int slot);

/// Right-angled staircases of X with Y, with legs from short to long: one program, or none where the machine has not both.
std::vector<ProgramSource> worst_corners(const Machine& machine);

/// All of them: those of each axis, and the corners.
std::vector<ProgramSource> worst_programs(const Machine& machine, const MotorModels& models);

}  // namespace stepper_sim
