/// A trial as a G-code program, in words of the open standard (RS274/NGC) only: G0/G1 class moves at a feed, dwells, program pauses
/// M0 and messages in comments. What a standard program cannot set, acceleration and speed step, is asked of the operator in a
/// message before each rung, or set by the word that the machine file maps to it (program.words.set_acceleration).
#pragma once

#include <string>
#include <vector>

#include "stepper_sim/trial/trial.hpp"

namespace stepper_sim::trial {

/// What stands at the head of program and sheet.
std::vector<std::string> trial_cautions();

/// What the operator sets before the trial begins, one sentence each; empty where nothing is to be set.
std::vector<std::string> trial_preparations(const machine::Machine& machine, const Trial& trial);

/// What the operator sets before a rung; empty where the program does it itself.
std::string rung_preparation(const machine::Machine& machine, const Trial& trial, double value);

/// The program. Every line is ASCII and at most 256 characters, as the standard has it.
std::string trial_program(const machine::Machine& machine, const Trial& trial);

}  // namespace stepper_sim::trial
