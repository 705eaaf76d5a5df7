#include "planner/lookahead/corner.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace planner {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

double speed_by_step(const InverseLimits& limits, const MoveLimits& before,
                     const MoveLimits& after) {
    double slowness_s_m = 0.0;
    for (std::size_t i = 0; i < limits.axis_count; ++i) {
        // Without a jump and without a limit, 0 times infinity: max() passes over it.
        const double jump = std::abs(after.direction[i] - before.direction[i]);
        slowness_s_m = std::max(slowness_s_m, jump * limits.step_s_m[i]);
    }
    return slowness_s_m > 0.0 ? 1.0 / slowness_s_m : kInfinity;
}

/// A difference of directions: its size, and how hard the axes find a speed change along it.
struct Turn {
    double sum_squared = 0.0;
    double sluggishness_s2_m = 0.0;  // max_i |difference_i| / amax_i

    void add(double difference, double acceleration_s2_m) {
        sum_squared += difference * difference;
        sluggishness_s2_m = std::max(sluggishness_s2_m, std::abs(difference) * acceleration_s2_m);
    }
};

double speed_by_deviation(const InverseLimits& limits, const MoveLimits& before,
                          const MoveLimits& after) {
    const double scale1 = 1.0 / before.norm;
    const double scale2 = 1.0 / after.norm;
    Turn turn;  // of unit vectors
    Turn jump;  // of displacements per metre of path
    double both_squared = 0.0;
    for (std::size_t i = 0; i < limits.axis_count; ++i) {
        const double t1 = before.direction[i] * scale1;
        const double t2 = after.direction[i] * scale2;
        both_squared += (t1 + t2) * (t1 + t2);
        turn.add(t2 - t1, limits.acceleration_s2_m[i]);
        jump.add(after.direction[i] - before.direction[i], limits.acceleration_s2_m[i]);
    }
    if (jump.sum_squared <= 0.0) {
        return kInfinity;
    }

    const double blend =
        8.0 * limits.deviation_m / (jump.sluggishness_s2_m * std::sqrt(jump.sum_squared));
    if (turn.sum_squared <= 0.0) {
        return std::sqrt(blend);
    }

    const double s = std::sqrt(turn.sum_squared) / 2.0;
    const double c = std::sqrt(both_squared) / 2.0;
    const double leg_m = std::min(before.length_m * before.norm, after.length_m * after.norm);
    const double radius_m = std::min(limits.deviation_m * (1.0 + c) / s, leg_m / 2.0) * c / s;
    const double acceleration_m_s2 =
        std::min({2.0 * s / turn.sluggishness_s2_m, before.acceleration_cap_m_s2,
                  after.acceleration_cap_m_s2});
    const double scale = std::min(scale1, scale2);
    return std::sqrt(std::min(blend, acceleration_m_s2 * radius_m * scale * scale));
}

constexpr std::array kRules{
    CornerRuleRow{"speed-step", speed_by_step, 1.0, true},
    CornerRuleRow{"deviation", speed_by_deviation, 0.5, false},
};

}  // namespace

std::span<const CornerRuleRow> corner_rules() {
    return kRules;
}

double plan_corner_speed(const InverseLimits& limits, const MoveLimits& before,
                         const MoveLimits& after) {
    const double nominal_m_s = std::min(before.nominal_speed_m_s, after.nominal_speed_m_s);
    const CornerRuleRow& rule = kRules[static_cast<std::size_t>(limits.corner)];
    return std::min(nominal_m_s, rule.speed_m_s(limits, before, after));
}

}  // namespace planner
