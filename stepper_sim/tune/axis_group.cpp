#include "stepper_sim/tune/axis_group.hpp"

#include <cmath>

#include "stepper_sim/check/words.hpp"
#include "stepper_sim/tune/highest.hpp"

namespace stepper_sim {

namespace {

GroupSettings settings_of(const Axis& axis) {
    return {axis.settings.max_speed.value(), axis.settings.max_acceleration.value(),
            axis.settings.speed_step.value()};
}

double ratio(double value, double to_first) {
    return to_first > 0.0 && value > 0.0 ? value / to_first : 1.0;
}

}  // namespace

double next_setting(double value) {
    return words::floor_digits(kFoundTo * words::floor_digits(value, kSettingDigits),
                               kSettingDigits);
}

bool GroupSettings::below(const GroupSettings& other) const {
    const auto lower = [](double value, double than) {
        return words::floor_digits(value, kSettingDigits) <
               words::floor_digits(than, kSettingDigits);
    };
    return lower(speed_m_s, other.speed_m_s) || lower(acceleration_m_s2, other.acceleration_m_s2) ||
           lower(step_m_s, other.step_m_s);
}

GroupSettings GroupSettings::down_to(const GroupSettings& other, double share) const {
    const auto between = [&](double from, double to) {
        return from > to && to > 0.0 ? from * std::pow(to / from, share) : to;
    };
    return {between(speed_m_s, other.speed_m_s),
            between(acceleration_m_s2, other.acceleration_m_s2), between(step_m_s, other.step_m_s)};
}

void AxisGroup::apply(const GroupSettings& settings, Machine& machine) const {
    for (std::size_t i = 0; i < slots.size(); ++i) {
        AxisSettings& out = machine.axes[static_cast<std::size_t>(slots[i])].settings;
        const GroupSettings& by = ratios[i];
        const auto rounded = [](double value) {
            return words::floor_digits(value, kSettingDigits);
        };
        out.max_speed =
            planner::from_si<planner::Speed>(rounded(settings.speed_m_s * by.speed_m_s));
        out.max_acceleration = planner::from_si<planner::Acceleration>(
            rounded(settings.acceleration_m_s2 * by.acceleration_m_s2));
        out.speed_step = planner::from_si<planner::Speed>(rounded(settings.step_m_s * by.step_m_s));
    }
}

std::vector<AxisGroup> axis_groups(const Machine& machine) {
    std::vector<AxisGroup> groups;
    for (int slot = 0; slot < static_cast<int>(machine.axes.size()); ++slot) {
        const Axis& axis = machine.axes[static_cast<std::size_t>(slot)];
        const bool second_belt =
            machine.kinematics == planner::Kinematics::crossed_belt && axis.letter == 'Y';
        if (!second_belt) groups.emplace_back();
        AxisGroup& group = second_belt
                               ? groups[static_cast<std::size_t>(machine.program.axes.slot('X'))]
                               : groups.back();
        group.slots.push_back(slot);
        group.motors |= std::uint32_t{1} << slot;
        const GroupSettings own = settings_of(axis);
        const GroupSettings first = present_settings(group, machine);
        group.ratios.push_back({ratio(own.speed_m_s, first.speed_m_s),
                                ratio(own.acceleration_m_s2, first.acceleration_m_s2),
                                ratio(own.step_m_s, first.step_m_s)});
    }
    return groups;
}

GroupSettings present_settings(const AxisGroup& group, const Machine& machine) {
    return settings_of(machine.axes[static_cast<std::size_t>(group.slots.front())]);
}

}  // namespace stepper_sim
