/// The fastest motion along one move under a speed and an acceleration limit: up, cruise, down.
/// Not limited in jerk; the speeds at both ends come from the look-ahead.
/// Model:   constant acceleration within a phase; phases that would be empty are left out
/// Formula: e = (v1^2 - v0^2) / (2 a), up = (L + e) / 2, down = (L - e) / 2, peak^2 = v0^2 + 2 a up
///          where that passes the nominal speed: up = (v^2 - v0^2) / (2 a),
///          down = (v^2 - v1^2) / (2 a), cruise = L - up - down
///          times: 2 up / (v0 + peak), cruise / peak, 2 down / (peak + v1)
/// Symbols: L = length [m], v0, v, v1 = entry, nominal and exit speed [m/s],
///          a = acceleration [m/s^2], up, cruise, down = distances [m]
/// Valid:   L > 0, a > 0, v > 0, v0 >= 0, v1 >= 0; an end speed above the nominal one raises it.
///          Where |e| is 1e-9 below L, or more, the move is one phase that joins v0 to v1 exactly;
///          its acceleration exceeds a only if |e| exceeds L, which the look-ahead never asks.
/// Source:  uniform acceleration; no reference needed
/// Checked by: Trapezoid.KeepsLengthAndLimitsForAnyMove; tests/outside/profile_kdl_test.cpp
#pragma once

#include "planner/profile/phase.hpp"

namespace planner {

/// Phases of one move: at most three, in order, of positive duration, together `length_m` long.
Profile trapezoid(double length_m, double entry_speed_m_s, double nominal_speed_m_s,
                  double exit_speed_m_s, double acceleration_m_s2);

/// The other way round: how long a move is that takes `duration_s`, begins and ends at `end_speed_m_s` (or the nominal speed, if lower) and
/// peaks in its middle. All > 0, `end_speed_m_s` >= 0.
double length_in(double duration_s, double end_speed_m_s, double nominal_speed_m_s,
                 double acceleration_m_s2);

}  // namespace planner
