#include "stepper_sim/capture/capture_scales.hpp"

#include <fmt/core.h>

#include "planner/lookahead/corner.hpp"
#include "planner/units/units_text.hpp"
#include "stepper_sim/machine/setting.hpp"

namespace stepper_sim::capture {
namespace {

double of(const SettingScales& scales, Scaled what) {
    return scales.at(static_cast<std::size_t>(what));
}

/// "0.8", "0.8731"
std::string factor(double scale) {
    return fmt::format("x {:.4g}", scale);
}

}  // namespace

machine::Machine scaled_machine(machine::Machine machine, const SettingScales& scales) {
    const double acceleration = of(scales, Scaled::max_acceleration),
                 corner = of(scales, Scaled::corner);
    machine.program.feed_override *= of(scales, Scaled::feed);
    if (machine.planning.path_acceleration) *machine.planning.path_acceleration *= acceleration;
    const machine::SettingKey key = machine::corner_key(machine.planning.corner);
    const auto turn = [&](char axis) {
        machine::apply({axis, key, corner * machine::present_value(machine, axis, key)}, machine);
    };
    if (!planner::row_of(machine.planning.corner).of_each_axis) turn(0);
    for (machine::Axis& axis : machine.axes) {
        axis.settings.max_speed *= of(scales, Scaled::max_speed);
        axis.settings.max_acceleration *= acceleration;
        if (planner::row_of(machine.planning.corner).of_each_axis) turn(axis.letter);
    }
    return machine;
}

std::string scales_text(const SettingScales& scales, const machine::Machine& machine) {
    std::vector<std::string> said;
    const double feed = of(scales, Scaled::feed), speed = of(scales, Scaled::max_speed),
                 acceleration = of(scales, Scaled::max_acceleration),
                 corner = of(scales, Scaled::corner);
    const bool both = feed == speed && feed != 1.0;
    if (both) said.push_back("speeds " + factor(feed) + " (feeds and max_speed)");
    if (!both && feed != 1.0)
        said.push_back(
            fmt::format("feeds {} (a feed override of {:.4g} %)", factor(feed), 100.0 * feed));
    if (!both && speed != 1.0) said.push_back("max_speed " + factor(speed));
    if (acceleration != 1.0) said.push_back("max_acceleration " + factor(acceleration));
    if (corner != 1.0)
        said.push_back(fmt::format("{} {}",
                                   machine::key_text(machine::corner_key(machine.planning.corner)),
                                   factor(corner)));
    return planner::listed(said);
}

}  // namespace stepper_sim::capture
