#include "stepper_sim/limits/axis_group.hpp"

#include "stepper_sim/check/words.hpp"
#include "stepper_sim/limits/highest.hpp"

namespace stepper_sim::limits {

double next_setting(double value) {
    return check::words::floor_digits(kFoundTo * check::words::floor_digits(value, kSettingDigits),
                                      kSettingDigits);
}

void AxisGroup::apply(const GroupSettings& settings, machine::Machine& machine) const {
    const auto rounded = [](double value) {
        return check::words::floor_digits(value, kSettingDigits);
    };
    for (const int slot : slots) {
        machine::AxisSettings& out = machine.axes[static_cast<std::size_t>(slot)].settings;
        out.max_speed = planner::from_si<planner::Speed>(rounded(settings.speed_m_s));
        out.max_acceleration =
            planner::from_si<planner::Acceleration>(rounded(settings.acceleration_m_s2));
        out.speed_step = planner::from_si<planner::Speed>(rounded(settings.step_m_s));
    }
}

std::vector<AxisGroup> axis_groups(const machine::Machine& machine) {
    std::vector<AxisGroup> groups;
    for (const auto& slots : planner::motor_groups(machine.kinematics, machine.program.axes)) {
        AxisGroup& group = groups.emplace_back();
        for (const std::size_t slot : slots) {
            group.slots.push_back(static_cast<int>(slot));
            group.motors |= std::uint32_t{1} << slot;
        }
    }
    return groups;
}

}  // namespace stepper_sim::limits
