#include "planner/lookahead/move_limits.hpp"

#include <algorithm>
#include <cmath>

namespace planner {

InverseLimits::InverseLimits(const PlanLimits& limits)
    : axis_count(static_cast<std::size_t>(std::clamp(limits.axis_count, 0, kMaxAxes))),
      path_acceleration_m_s2(limits.path_acceleration_m_s2),
      corner(limits.corner),
      deviation_m(limits.deviation_m) {
    for (std::size_t i = 0; i < axis_count; ++i) {
        speed_s_m[i] = 1.0 / limits.max_speed_m_s[i];
        acceleration_s2_m[i] = 1.0 / limits.max_acceleration_m_s2[i];
        step_s_m[i] = 1.0 / limits.speed_step_m_s[i];
    }
}

MoveLimits move_limits(const InverseLimits& limits, const Move& move) {
    MoveLimits result;
    result.length_m = move.length_m;
    result.acceleration_cap_m_s2 =
        std::min(limits.path_acceleration_m_s2, move.acceleration_cap_m_s2);
    const double per_metre = 1.0 / move.length_m;
    for (std::size_t i = 0; i < result.direction.size(); ++i) {
        result.direction[i] = (move.end_m[i] - move.start_m[i]) * per_metre;
    }
    double slowness_s_m = 0.0;
    double sluggishness_s2_m = 0.0;
    double sum = 0.0;
    for (std::size_t i = 0; i < limits.axis_count; ++i) {
        const double u = result.direction[i];
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
    return result;
}

}  // namespace planner
