#include "stepper_sim/machine/setting.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "planner/units/units_text.hpp"

namespace stepper_sim::machine {

namespace {

enum class Written : std::uint8_t { quantity, number, rms };

struct KeyRow {
    std::string_view name;
    std::string_view path;  // after the axis, or from the top of the file
    std::string_view unit;
    double per_si;
    int digits;  // shown
    Written written;
    int floored_digits;  // a new value is rounded down to these; 0: to the nearest of those shown
};

// In the order of SettingKey. Three digits: what limits.hpp proposes too.
constexpr std::array kKeys{
    KeyRow{"max_speed", "settings.max_speed", "mm/s", 1e3, 6, Written::quantity, 3},
    KeyRow{"max_acceleration", "settings.max_acceleration", "mm/s^2", 1e3, 6, Written::quantity, 3},
    KeyRow{"speed_step", "settings.speed_step", "mm/s", 1e3, 6, Written::quantity, 3},
    KeyRow{"steps_per_mm", "settings.steps_per_mm", "", 1e-3, 8, Written::number, 0},
    KeyRow{"microsteps", "microsteps", "", 1.0, 6, Written::number, 0},
    KeyRow{"current", "current", "A", 1.0, 3, Written::rms, 3},
    KeyRow{"deviation", "planning.deviation", "mm", 1e3, 6, Written::quantity, 3},
    KeyRow{"pulse_high", "controller.pulse_high", "us", 1e6, 6, Written::quantity, 0},
    KeyRow{"direction_setup", "controller.direction_setup", "us", 1e6, 6, Written::quantity, 0},
    KeyRow{"direction_hold", "controller.direction_hold", "us", 1e6, 6, Written::quantity, 0},
};

const KeyRow& row_of(SettingKey key) {
    return kKeys[static_cast<std::size_t>(key)];
}

template <class OneMachine>
auto axis_of(OneMachine& machine, char letter) {
    const auto it = std::find_if(machine.axes.begin(), machine.axes.end(),
                                 [&](const Axis& axis) { return axis.letter == letter; });
    return it != machine.axes.end() ? &*it : nullptr;
}

double value_of_axis(const Axis& axis, SettingKey key) {
    switch (key) {
        case SettingKey::max_speed:
            return axis.settings.max_speed.value();
        case SettingKey::max_acceleration:
            return axis.settings.max_acceleration.value();
        case SettingKey::speed_step:
            return axis.settings.speed_step.value();
        case SettingKey::steps_per_mm:
            return axis.steps_per_m();
        case SettingKey::microsteps:
            return axis.microsteps;
        case SettingKey::current:
            return axis.current.rms().value();
        default:
            return 0.0;
    }
}

void apply_to_axis(const Setting& setting, Axis& axis) {
    switch (setting.key) {
        case SettingKey::max_speed:
            axis.settings.max_speed = planner::from_si<planner::Speed>(setting.value);
            break;
        case SettingKey::max_acceleration:
            axis.settings.max_acceleration = planner::from_si<planner::Acceleration>(setting.value);
            break;
        case SettingKey::speed_step:
            axis.settings.speed_step = planner::from_si<planner::Speed>(setting.value);
            break;
        case SettingKey::steps_per_mm:
            axis.settings.steps_per_mm = setting.value * row_of(setting.key).per_si;
            break;
        case SettingKey::microsteps:
            axis.microsteps = static_cast<int>(std::lround(setting.value));
            break;
        case SettingKey::current:
            axis.current = {planner::from_si<planner::Current>(setting.value), CurrentBasis::rms};
            break;
        default:
            break;
    }
}

}  // namespace

SettingKey corner_key(planner::CornerRule rule) {
    return rule == planner::CornerRule::speed_step ? SettingKey::speed_step : SettingKey::deviation;
}

double present_value(const Machine& machine, char axis, SettingKey key) {
    switch (key) {
        case SettingKey::deviation:
            return machine.planning.deviation.value();
        case SettingKey::pulse_high:
            return machine.controller.pulse_high.value();
        case SettingKey::direction_setup:
            return machine.controller.direction_setup.value();
        case SettingKey::direction_hold:
            return machine.controller.direction_hold.value();
        default:
            break;
    }
    const Axis* set = axis_of(machine, axis);
    return set != nullptr ? value_of_axis(*set, key) : 0.0;
}

void apply(const Setting& setting, Machine& machine) {
    const auto time = planner::from_si<planner::Time>(setting.value);
    switch (setting.key) {
        case SettingKey::deviation:
            machine.planning.deviation = planner::from_si<planner::Length>(setting.value);
            return;
        case SettingKey::pulse_high:
            machine.controller.pulse_high = time;
            return;
        case SettingKey::direction_setup:
            machine.controller.direction_setup = time;
            return;
        case SettingKey::direction_hold:
            machine.controller.direction_hold = time;
            return;
        default:
            break;
    }
    if (Axis* set = axis_of(machine, setting.axis)) apply_to_axis(setting, *set);
}

double floor_digits(double value, int digits) {
    if (!(value > 0.0)) return 0.0;
    const double unit = std::pow(10.0, std::floor(std::log10(value)) - (digits - 1));
    constexpr double kRounding = 1.0 + 1e-12;  // what was rounded before stays
    return std::floor(value / unit * kRounding) * unit;
}

double rounded(SettingKey key, double value) {
    const KeyRow& row = row_of(key);
    if (row.floored_digits > 0)
        return floor_digits(value * row.per_si, row.floored_digits) / row.per_si;
    if (!(value > 0.0)) return 0.0;
    const double shown = value * row.per_si;
    const double unit = std::pow(10.0, std::floor(std::log10(shown)) - (row.digits - 1));
    return std::round(shown / unit) * unit / row.per_si;
}

std::string_view key_text(SettingKey key) {
    return row_of(key).name;
}

std::string value_text(const Setting& setting) {
    const KeyRow& row = row_of(setting.key);
    std::string text = planner::format_number(setting.value * row.per_si, row.digits);
    if (!row.unit.empty()) text += fmt::format(" {}", row.unit);
    return row.written == Written::rms ? text + " RMS" : text;
}

std::string path_text(char axis, SettingKey key) {
    const std::string_view path = row_of(key).path;
    if (axis == 0) return std::string(path);
    return fmt::format("axes.{}.{}", planner::axis_key(axis), path);
}

std::string line_text(const Setting& setting) {
    const KeyRow& row = row_of(setting.key);
    const std::string path = path_text(setting.axis, setting.key);
    if (row.written == Written::rms)
        return fmt::format("{} = {{ rms = \"{} {}\" }}", path,
                           planner::format_number(setting.value * row.per_si, row.digits),
                           row.unit);
    const std::string value = value_text(setting);
    return row.written == Written::number ? fmt::format("{} = {}", path, value)
                                          : fmt::format("{} = \"{}\"", path, value);
}

}  // namespace stepper_sim::machine
