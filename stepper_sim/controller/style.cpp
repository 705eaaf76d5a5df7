#include "stepper_sim/controller/style.hpp"

#include <array>

#include "stepper_sim/controller/styles.hpp"

namespace stepper_sim::controller {
namespace {

struct StyleRow {
    machine::ControllerStyle style;
    std::unique_ptr<Style> (*make)(const machine::Machine&);
};

constexpr std::array kStyles = {
    StyleRow{machine::ControllerStyle::ideal, make_ideal},
    StyleRow{machine::ControllerStyle::line, make_line},
    StyleRow{machine::ControllerStyle::fixed_rate, make_fixed_rate},
    StyleRow{machine::ControllerStyle::scheduled, make_scheduled},
};

}  // namespace

MotorScale motor_scale(const machine::Machine& machine) {
    MotorScale scale;
    for (const machine::Axis& axis : machine.axes) {
        if (scale.count == planner::kMaxAxes) break;
        scale.steps_per_m[static_cast<std::size_t>(scale.count++)] = axis.steps_per_m();
    }
    return scale;
}

std::int64_t tick_hz_of(const machine::ControllerPart& controller) {
    const bool own_tick =
        controller.style != machine::ControllerStyle::ideal && controller.tick_hz > 0;
    return own_tick ? controller.tick_hz : kIdealTick_hz;
}

std::unique_ptr<Style> make_style(const machine::Machine& machine) {
    for (const StyleRow& row : kStyles) {
        if (row.style == machine.controller.style) return row.make(machine);
    }
    return make_ideal(machine);
}

}  // namespace stepper_sim::controller
