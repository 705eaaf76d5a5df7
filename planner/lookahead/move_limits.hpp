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

#include <algorithm>
#include <cmath>

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
/// the speed. Written where they stay: a copy would wait for the values just stored.
inline void set_move_limits(const InverseLimits& limits, const Move& move, MoveLimits& result) {
    result.length_m = move.length_m;
    result.acceleration_cap_m_s2 =
        std::min(limits.path_acceleration_m_s2, move.acceleration_cap_m_s2);
    const double per_metre = 1.0 / move.length_m;
    double slowness_s_m = 0.0;
    double sluggishness_s2_m = 0.0;
    double sum = 0.0;
    for (std::size_t i = 0; i < limits.axis_count; ++i) {
        const double u = (move.end_m[i] - move.start_m[i]) * per_metre;
        result.direction[i] = u;
        sum += u * u;
        slowness_s_m = std::max(slowness_s_m, std::abs(u) * limits.speed_s_m[i]);
        sluggishness_s2_m = std::max(sluggishness_s2_m, std::abs(u) * limits.acceleration_s2_m[i]);
    }
    result.norm = std::sqrt(sum);
    result.nominal_speed_m_s = 1.0 / slowness_s_m;
    if (move.feed_m_s > 0.0) {
        result.nominal_speed_m_s = std::min(result.nominal_speed_m_s, move.feed_m_s);
    }
    result.acceleration_m_s2 = std::min(1.0 / sluggishness_s2_m, result.acceleration_cap_m_s2);
}

/// The same as a value.
MoveLimits move_limits(const InverseLimits& limits, const Move& move);

}  // namespace planner
