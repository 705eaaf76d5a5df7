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
    set_move_limits(limits, move, result);
    return result;
}

}  // namespace planner
