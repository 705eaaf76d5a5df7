#include "stepper_sim/controller/processor_cost.hpp"

#include <algorithm>
#include <cmath>

#include "stepper_sim/controller/style.hpp"

namespace stepper_sim::controller {
namespace {

std::int64_t fine_ticks(int cycles, const machine::ControllerPart& controller) {
    const double ticks = static_cast<double>(cycles) * static_cast<double>(controller.tick_hz) /
                         static_cast<double>(controller.clock_hz);
    return static_cast<std::int64_t>(std::ceil(std::ldexp(ticks, kFineBits)));
}

}  // namespace

ProcessorCost processor_cost(const machine::ControllerPart& controller) {
    if (controller.style == machine::ControllerStyle::ideal || controller.clock_hz <= 0 ||
        controller.tick_hz <= 0) {
        return {};
    }
    return {fine_ticks(controller.interrupt_cycles, controller),
            fine_ticks(controller.event_cycles, controller),
            fine_ticks(controller.motor_cycles, controller)};
}

std::int64_t interrupt_cycles(const machine::ControllerPart& controller, int events, int motors) {
    return std::int64_t{controller.interrupt_cycles} +
           std::int64_t{events} * (std::int64_t{controller.event_cycles} +
                                   std::int64_t{motors} * controller.motor_cycles);
}

std::int64_t ticks_up(const planner::Time& time, std::int64_t tick_hz, std::int64_t least) {
    constexpr double kSlack =
        1e-6;  // of a tick: 2 us at 2 MHz is 4 ticks, whatever the last bit says
    const double ticks = time.value() * static_cast<double>(tick_hz);
    return std::max(least, static_cast<std::int64_t>(std::ceil(ticks - kSlack)));
}

std::int64_t shortest_period_ticks(const machine::ControllerPart& controller) {
    return ticks_up(controller.pulse_high, tick_hz_of(controller), 1) + 1;
}

}  // namespace stepper_sim::controller
