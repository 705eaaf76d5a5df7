/// How fast a move may run and change speed along its own path, from what each axis may do.
/// Not the corners between moves (corner.hpp), nor what the neighbours allow (lookahead.hpp).
/// Model:   every axis moves in proportion to the path, so each axis limit becomes a path limit
/// Formula: u_i = (end_i - start_i) / length
///          v = min(feed, min_i vmax_i / |u_i|), a = min(caps, min_i amax_i / |u_i|)
/// Symbols: u = displacement of an axis per metre of path [-],
///          vmax, amax = limits of an axis [m/s, m/s^2]
/// Valid:   length > 0, limits > 0; an axis that rests sets no limit
/// Source:  proportion; no reference needed
/// Checked by: MoveLimits.SlowestAxisSetsTheSpeedOfADiagonal
#pragma once

#include "planner/lookahead/planned_move.hpp"

namespace planner {

struct MoveLimits {
    AxisArray direction{};  // displacement of each axis per metre of path; not always of norm 1
    double length_m = 0.0;
    double nominal_speed_m_s = 0.0;      // highest speed along the path
    double acceleration_m_s2 = 0.0;      // highest acceleration along the path
    double acceleration_cap_m_s2 = 0.0;  // the lower of the machine's path cap and the move's own
};

/// Path limits of one move. A feed that is not positive counts as none asked: the axes alone set
/// the speed.
MoveLimits move_limits(const PlanLimits& limits, const Move& move);

}  // namespace planner
