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

/// Reciprocals of a machine's limits: planning multiplies by them for every move. PlanLimits
/// convert by themselves where a few moves are at stake; LookAhead keeps one.
struct InverseLimits {
    InverseLimits(const PlanLimits& limits);

    AxisArray speed_s_m{};
    AxisArray acceleration_s2_m{};
    AxisArray step_s_m{};  // infinite for an axis without a speed step
    std::size_t axis_count = 0;
    double path_acceleration_m_s2 = 0.0;  // the limit itself
    CornerRule corner = CornerRule::speed_step;
    double deviation_m = 0.0;
};

struct MoveLimits {
    AxisArray direction{};  // displacement of each axis per metre of path
    double norm = 1.0;      // of `direction`; not 1 where `length_m` leaves axes out
    double length_m = 0.0;
    double nominal_speed_m_s = 0.0;      // highest speed along the path
    double acceleration_m_s2 = 0.0;      // highest acceleration along the path
    double acceleration_cap_m_s2 = 0.0;  // the lower of the machine's path cap and the move's own
};

/// Path limits of one move. A feed that is not positive counts as none asked: the axes alone set
/// the speed.
MoveLimits move_limits(const InverseLimits& limits, const Move& move);

}  // namespace planner
