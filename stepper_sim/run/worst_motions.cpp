#include "stepper_sim/run/worst_motions.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "planner/lookahead/corner.hpp"

namespace stepper_sim::run {

double Reach::peak_m_s() const {
    return std::min(speed_m_s, std::sqrt(acceleration_m_s2 * travel_m));
}

Reach reach_of(const machine::Machine& machine, const machine::Axis& axis) {
    Reach reach{axis.settings.max_speed.value(), axis.settings.max_acceleration.value(), 0.0,
                std::numeric_limits<double>::infinity()};
    if (machine.planning.path_acceleration)
        reach.acceleration_m_s2 =
            std::min(reach.acceleration_m_s2, machine.planning.path_acceleration->value());
    if (planner::row_of(machine.planning.corner).of_each_axis)
        reach.corner_m_s =
            std::min(0.5 * axis.settings.speed_step.value(), reach.speed_m_s);  // of a reversal
    if (axis.travel_min && axis.travel_max)
        reach.travel_m = axis.travel_max->value() - axis.travel_min->value();
    return reach;
}

std::vector<WorstMotion> worst_motions(const machine::Machine& machine) {
    std::vector<WorstMotion> motions;
    const auto add = [&](int axis, std::initializer_list<std::pair<int, double>> parts) {
        WorstMotion motion;
        motion.axis = axis;
        motion.diagonal = parts.size() > 1;
        for (const auto& [slot, sign] : parts) {
            const auto s = static_cast<std::size_t>(slot);
            const Reach reach = reach_of(machine, machine.axes[s]);
            motion.speed_m_s[s] = sign * reach.peak_m_s();
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

}  // namespace stepper_sim::run
