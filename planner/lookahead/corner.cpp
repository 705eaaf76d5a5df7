#include "planner/lookahead/corner.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace planner {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

double norm(const AxisArray& vector, std::size_t axes) {
    double sum = 0.0;
    for (std::size_t i = 0; i < axes; ++i) {
        sum += vector[i] * vector[i];
    }
    return std::sqrt(sum);
}

/// A difference of directions, and how hard the axes find a speed change along it.
struct Turn {
    double size = 0.0;               // |difference|
    double sluggishness_s2_m = 0.0;  // max_i |difference_i| / amax_i
};

Turn turn_between(const PlanLimits& limits, const AxisArray& from, double from_scale,
                  const AxisArray& to, double to_scale) {
    Turn turn;
    double sum = 0.0;
    for (std::size_t i = 0; i < static_cast<std::size_t>(limits.axis_count); ++i) {
        const double change = to[i] * to_scale - from[i] * from_scale;
        sum += change * change;
        turn.sluggishness_s2_m =
            std::max(turn.sluggishness_s2_m, std::abs(change) / limits.max_acceleration_m_s2[i]);
    }
    turn.size = std::sqrt(sum);
    return turn;
}

double speed_by_step(const PlanLimits& limits, const AxisArray& before, const AxisArray& after) {
    double slowness_s_m = 0.0;
    for (std::size_t i = 0; i < static_cast<std::size_t>(limits.axis_count); ++i) {
        slowness_s_m =
            std::max(slowness_s_m, std::abs(after[i] - before[i]) / limits.speed_step_m_s[i]);
    }
    return slowness_s_m > 0.0 ? 1.0 / slowness_s_m : kInfinity;
}

double speed_by_arc(const PlanLimits& limits, const MoveLimits& before, const MoveLimits& after) {
    const auto axes = static_cast<std::size_t>(limits.axis_count);
    const double norm1 = norm(before.direction, axes);
    const double norm2 = norm(after.direction, axes);
    const Turn turn =
        turn_between(limits, before.direction, 1.0 / norm1, after.direction, 1.0 / norm2);
    if (turn.size <= 0.0) return kInfinity;

    const double s = turn.size / 2.0;
    double sum = 0.0;
    for (std::size_t i = 0; i < axes; ++i) {
        const double both = before.direction[i] / norm1 + after.direction[i] / norm2;
        sum += both * both;
    }
    const double c = std::sqrt(sum) / 2.0;
    const double leg_m = std::min(before.length_m * norm1, after.length_m * norm2);
    const double radius_m =
        std::min(limits.deviation_m * c * (1.0 + c) / (s * s), leg_m / 2.0 * c / s);
    const double acceleration_m_s2 =
        std::min({turn.size / turn.sluggishness_s2_m, before.acceleration_cap_m_s2,
                  after.acceleration_cap_m_s2});
    return std::sqrt(acceleration_m_s2 * radius_m) / std::max(norm1, norm2);
}

double speed_by_blend(const PlanLimits& limits, const AxisArray& before, const AxisArray& after) {
    const Turn turn = turn_between(limits, before, 1.0, after, 1.0);
    if (turn.size <= 0.0) return kInfinity;
    return std::sqrt(8.0 * limits.deviation_m / (turn.sluggishness_s2_m * turn.size));
}

}  // namespace

double plan_corner_speed(const PlanLimits& limits, const MoveLimits& before,
                         const MoveLimits& after) {
    const double nominal_m_s = std::min(before.nominal_speed_m_s, after.nominal_speed_m_s);
    switch (limits.corner) {
        case CornerRule::speed_step:
            return std::min(nominal_m_s, speed_by_step(limits, before.direction, after.direction));
        case CornerRule::deviation:
            return std::min({nominal_m_s, speed_by_arc(limits, before, after),
                             speed_by_blend(limits, before.direction, after.direction)});
    }
    return 0.0;
}

}  // namespace planner
