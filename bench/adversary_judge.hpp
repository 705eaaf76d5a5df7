/// One case of the adversary before both judges: what `check` says of it, and what the second model does at every edge of the spread that
/// `check` states. The pulses are those the controller emits.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "bench/adversary_cases.hpp"
#include "bench/adversary_model.hpp"
#include "stepper_sim/check/finding.hpp"
#include "stepper_sim/run/demand.hpp"

namespace stepper_sim::adversary {

enum class Level : std::uint8_t { low, nominal, high };

/// One corner of the stated spread: what is multiplied.
struct Edge {
    Level level = Level::nominal;
    double torque = 1.0;  // of the level
    double friction = 1.0, stiffness = 1.0, mass = 1.0;
};
std::string to_text(const Edge& edge);

/// Torque {low with the margin taken off, low, nominal, high} x friction x stiffness x mass, the likeliest to slip first.
std::vector<Edge> stated_edges();
/// The same loads at a torque that leaves 30 % of what the margin leaves.
std::vector<Edge> spare_edges();

/// A machine as the second model sees it.
Plant plant_of(const machine::Machine& machine, const run::MotorModels& models, const Edge& edge);

/// How far the second model slips.
enum class Slips : std::uint8_t { none, some_edge, nominal, all_edges };

struct Judged {
    std::string unusable;  // why there is no answer; empty: there is
    check::Verdict verdict = check::Verdict::clear;
    std::vector<check::Finding> objections;  // worse than a note
    Slips slips = Slips::none;
    // Of a clear case that slips: edges that slip at each of the four torques, of eight. One edge alone may be chance, see --halve.
    std::array<int, 4> edges_that_slip{};
    bool to_spare = false;      // it holds at every edge, and at 0.7 of the lowest torque
    double peak_lag_rad = 0.0;  // electrical, the largest of all edges asked
    Edge edge;                  // the first to slip
    Answer first;
    double torque_use = 0.0;  // on the low figure, of the worst motor
    int runs = 0;
    double model_s = 0.0;  // CPU of the second model

    int edges() const;
    bool only(const char* check) const;
};

/// `folder`: for the program's file, which is taken away again.
Judged judge(const Case& drawn, const std::filesystem::path& folder, double step_s = kStep_s);

/// The answer at every edge, stated, nominal and spare, for one case that is looked at closely.
struct EdgeAnswer {
    Edge edge;
    Answer answer;
};
std::vector<EdgeAnswer> every_edge(const Case& drawn, const std::filesystem::path& folder,
                                   double step_s = kStep_s);

}  // namespace stepper_sim::adversary
