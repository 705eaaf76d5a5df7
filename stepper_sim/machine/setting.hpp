/// One value that can be set, as data: which, and to what in SI. How it is written in a machine file stands in one table, setting.cpp.
/// What a finding proposes (check/finding.hpp) and what is tried on a copy of a machine (check/verified_change.hpp) are made of these.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::machine {

enum class SettingKey : std::uint8_t {
    max_speed,         // m/s
    max_acceleration,  // m/s^2
    speed_step,        // m/s
    steps_per_mm,      // 1/m
    microsteps,        // 1
    current,           // A RMS
    // Of the machine, not of an axis:
    deviation,        // m
    pulse_high,       // s, of the controller, as the next two
    direction_setup,  // s
    direction_hold,   // s
};

struct Setting {
    char axis = 0;  // upper case; 0: of the machine
    SettingKey key = SettingKey::max_speed;
    double value = 0.0;  // SI

    bool operator==(const Setting&) const = default;
};

/// The setting that the corner rule in force reads, of an axis or (axis 0) of the machine.
SettingKey corner_key(planner::CornerRule rule);

/// The present value; 0 where the machine has no such axis.
double present_value(const Machine& machine, char axis, SettingKey key);
void apply(const Setting& setting, Machine& machine);

/// The value as it is written: so many digits, and down where less is the safe side.
double rounded(SettingKey key, double value);
/// Rounded down to so many significant digits, so that what holds still holds; 0 for what is not above 0.
double floor_digits(double value, int digits);

/// "max_acceleration"
std::string_view key_text(SettingKey key);
/// "4030 mm/s^2"
std::string value_text(const Setting& setting);
/// `axes.y.settings.max_acceleration`
std::string path_text(char axis, SettingKey key);
/// `axes.y.settings.max_acceleration = "4030 mm/s^2"`
std::string line_text(const Setting& setting);

}  // namespace stepper_sim::machine
