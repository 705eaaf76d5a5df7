/// The text of the `torque` command: candidates side by side, in tables that fit a terminal.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/limits/compare_motors.hpp"
#include "stepper_sim/report/torque_plot.hpp"

namespace stepper_sim {

/// `candidates` as compare_motors() sorts them, all judged at the same speeds.
std::string torque_text(std::span<const Candidate> candidates, double margin);

/// One line on the point where the program asks most; `asked` is not empty.
std::string asked_text(std::span<const AskedPoint> asked);
const AskedPoint& most_asked(std::span<const AskedPoint> asked);

}  // namespace stepper_sim
