/// The step pulses one motor receives, and those an ideal generator would send for given phases.
/// Real controllers (stepper_sim/controller) send later and uneven ones: whenever they are known,
/// give those to the full model.
/// Model:   an edge leaves at the moment the commanded angle passes the middle between two microsteps
/// Formula: t = 2 d / (v + sqrt(v^2 + 2 a d)) after the start of the stretch
/// Symbols: d = way to the middle [rad], v = speed there at the start [rad/s], a = acceleration along v [rad/s^2]
/// Valid:   phases are split where they turn round; jumps of speed between them are kept
/// Source:  d = v t + a t^2 / 2 solved for t without cancellation: Newton
/// Checked by: StepEdges.SitHalfwayBetweenMicrostepsInOrder, StepEdges.SteadySpeedGivesEvenIntervals
#pragma once

#include <span>
#include <vector>

#include "stepper_sim/dynamics/rate_phase.hpp"

namespace stepper_sim::dynamics {

struct StepEdge {
    double time_s = 0.0;  // since the start of the window, not decreasing
    int microsteps = 1;   // signed; several when one interrupt sends several
};

/// Edges at the moments the phases carry the commanded angle past the middle between two
/// microsteps, starting on one. Cost: one square root per edge. Speed jumps between phases are kept
/// as they are.
std::vector<StepEdge> ideal_edges(std::span<const RatePhase> phases, double microstep_angle_rad);

}  // namespace stepper_sim::dynamics
