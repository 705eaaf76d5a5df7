#include "planner/lookahead/move_limits.hpp"

#include <algorithm>
#include <cmath>

namespace planner {

MoveLimits move_limits(const PlanLimits& limits, const Move& move) {
    MoveLimits result;
    result.length_m = move.length_m;
    double slowness_s_m = move.feed_m_s > 0.0 ? 1.0 / move.feed_m_s : 0.0;
    const double cap_m_s2 = std::min(limits.path_acceleration_m_s2, move.acceleration_cap_m_s2);
    double sluggishness_s2_m = 1.0 / cap_m_s2;
    for (std::size_t i = 0; i < static_cast<std::size_t>(limits.axis_count); ++i) {
        const double u = (move.end_m[i] - move.start_m[i]) / move.length_m;
        result.direction[i] = u;
        slowness_s_m = std::max(slowness_s_m, std::abs(u) / limits.max_speed_m_s[i]);
        sluggishness_s2_m =
            std::max(sluggishness_s2_m, std::abs(u) / limits.max_acceleration_m_s2[i]);
    }
    result.nominal_speed_m_s = 1.0 / slowness_s_m;
    result.acceleration_m_s2 = 1.0 / sluggishness_s2_m;
    result.acceleration_cap_m_s2 = cap_m_s2;
    return result;
}

}  // namespace planner
