/// What the `torque` command says: candidates side by side, in tables that fit a terminal, and as JSON.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stepper_sim/limits/compare_motors.hpp"
#include "stepper_sim/limits/part_ranking.hpp"
#include "stepper_sim/report/torque_plot.hpp"

namespace stepper_sim::report {

struct Comparison {
    const machine::Machine& machine;
    const machine::Axis& axis;
    double margin;
    std::vector<limits::Candidate> candidates;
    std::vector<limits::AskedPoint> asked;  // empty: no program
    std::vector<std::string> programs;      // their files
    std::optional<limits::PartRanking> ranking;
};

std::string torque_json(const Comparison& comparison);

/// `candidates` as compare_motors() sorts them, all judged at the same speeds.
std::string torque_text(std::span<const limits::Candidate> candidates, double margin);

/// One line on the point where the program asks most; `asked` is not empty.
std::string asked_text(std::span<const limits::AskedPoint> asked);
const limits::AskedPoint& most_asked(std::span<const limits::AskedPoint> asked);

}  // namespace stepper_sim::report
