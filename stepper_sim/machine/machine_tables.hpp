/// TOML tables to the pieces of a Machine. Private to stepper_sim/machine; read_machine.cpp puts
/// them together. Every function reads its whole table, adds what is wrong to `faults` and returns
/// what it could read.
#pragma once

#include <string>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/machine/part_lookup.hpp"

namespace stepper_sim::machine::reading {

Planning planning_from(const Node& table, Faults& faults);

/// `need_speed_step`: corners are planned by it, so it is a required setting.
Axis axis_from(const Node& table, char letter, bool need_speed_step, const SearchFolders& folders,
               Faults& faults);

/// Reads [program] into machine.program and machine.work_offset_known; machine.axes is complete.
void read_words(const Node& table, Machine& machine, Faults& faults);  // of [program.words]
void read_program(const Node& table, Machine& machine, Faults& faults);

/// Reads [capture] into the lines of machine.axes, which are complete.
void read_capture(const Node& table, Machine& machine, Faults& faults);

}  // namespace stepper_sim::machine::reading
