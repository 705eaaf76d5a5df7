#include "stepper_sim/run/canonical.hpp"

#include <algorithm>
#include <cmath>

namespace stepper_sim {

namespace {

struct Reach {
    double speed_m_s, acceleration_m_s2;
};

Reach reach_of(const Machine& machine, const Axis& axis) {
    double acceleration_m_s2 = axis.settings.max_acceleration.value();
    if (machine.planning.path_acceleration)
        acceleration_m_s2 =
            std::min(acceleration_m_s2, machine.planning.path_acceleration->value());
    double speed_m_s = axis.settings.max_speed.value();
    // From rest to rest inside the travel the speed peaks half way: v^2 = a L.
    if (axis.travel_min && axis.travel_max)
        speed_m_s = std::min(speed_m_s, std::sqrt(acceleration_m_s2 * (axis.travel_max->value() -
                                                                       axis.travel_min->value())));
    return {speed_m_s, acceleration_m_s2};
}

}  // namespace

std::vector<CanonicalMotion> canonical_motions(const Machine& machine) {
    std::vector<CanonicalMotion> motions;
    const auto add = [&](int axis, std::initializer_list<std::pair<int, double>> parts) {
        CanonicalMotion motion;
        motion.axis = axis;
        motion.diagonal = parts.size() > 1;
        for (const auto& [slot, sign] : parts) {
            const auto s = static_cast<std::size_t>(slot);
            const Reach reach = reach_of(machine, machine.axes[s]);
            motion.speed_m_s[s] = sign * reach.speed_m_s;
            motion.acceleration_m_s2[s] = sign * reach.acceleration_m_s2;
        }
        motions.push_back(motion);
    };
    for (int slot = 0; slot < static_cast<int>(machine.axes.size()); ++slot)
        for (const double sign : {1.0, -1.0})
            add(slot, {{slot, sign}});
    for (const auto& slots : planner::motor_groups(machine.kinematics, machine.program.axes)) {
        if (slots.size() < 2) continue;
        const int x = static_cast<int>(slots[0]), y = static_cast<int>(slots[1]);
        for (const double sx : {1.0, -1.0})
            for (const double sy : {1.0, -1.0})
                add(x, {{x, sx}, {y, sy}});
    }
    return motions;
}

}  // namespace stepper_sim
