/// The settings that are searched together: those of one axis, or of both belt axes of crossed belts, which share their motors and so get equal
/// settings. A part of limits.hpp.
#pragma once

#include <cstdint>
#include <vector>

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::limits {

/// Of a value that is flashed.
inline constexpr int kSettingDigits = 3;

/// The value to try after one that holds: kFoundTo above what of it can be flashed, and so rounded down too.
double next_setting(double value);

/// Of every axis of a group.
struct GroupSettings {
    double speed_m_s = 0.0, acceleration_m_s2 = 0.0, step_m_s = 0.0;

    GroupSettings times(double scale) const {
        return {speed_m_s * scale, acceleration_m_s2 * scale, step_m_s * scale};
    }
    bool operator==(const GroupSettings&) const = default;
};

struct AxisGroup {
    std::vector<int> slots;
    std::uint32_t motors = 0;  // bit m: motor m

    /// Every value rounded down to three digits.
    void apply(const GroupSettings& settings, machine::Machine& machine) const;
};

std::vector<AxisGroup> axis_groups(const machine::Machine& machine);

}  // namespace stepper_sim::limits
