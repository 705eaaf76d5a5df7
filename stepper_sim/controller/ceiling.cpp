#include "stepper_sim/controller/ceiling.hpp"

#include <algorithm>
#include <limits>

#include "stepper_sim/controller/processor_cost.hpp"
#include "stepper_sim/controller/style.hpp"

namespace stepper_sim::controller {
namespace {

int largest_batch(const machine::ControllerPart& controller) {
    int batch = 1;
    while (batch * 2 <= controller.max_steps_per_interrupt)
        batch *= 2;
    return batch;
}

double processor_ceiling_hz(const machine::ControllerPart& controller, int motors) {
    const double cycles_per_s =
        controller.processor_share * static_cast<double>(controller.clock_hz);
    switch (controller.style) {
        case machine::ControllerStyle::line: {
            const int batch = largest_batch(controller);
            const auto cycles = static_cast<double>(interrupt_cycles(controller, batch, motors));
            return cycles_per_s * batch / cycles;
        }
        case machine::ControllerStyle::scheduled: {
            const auto cycles = static_cast<double>(interrupt_cycles(controller, 1, 1));
            return cycles_per_s / (motors * cycles);
        }
        case machine::ControllerStyle::fixed_rate: {
            const auto base_rate_hz = static_cast<double>(controller.base_rate_hz);
            const auto cycles = static_cast<double>(interrupt_cycles(controller, 1, motors));
            if (base_rate_hz * cycles > cycles_per_s) return 0.0;
            return base_rate_hz;
        }
        case machine::ControllerStyle::ideal:
            break;
    }
    return std::numeric_limits<double>::infinity();
}

/// What the maker promises of one motor, and of all together.
double promised_hz(const machine::ControllerPart& controller, int motors) {
    const double all_hz = std::numeric_limits<double>::infinity();
    const double one_hz = controller.step_rate_max ? controller.step_rate_max->value() : all_hz;
    return controller.step_rate_total
               ? std::min(one_hz, controller.step_rate_total->value() / motors)
               : one_hz;
}

}  // namespace

double controller_ceiling_hz(const machine::ControllerPart& controller, int motors_stepping) {
    const double pulse_hz = static_cast<double>(tick_hz_of(controller)) /
                            static_cast<double>(shortest_period_ticks(controller));
    const int motors = std::max(motors_stepping, 1);
    return std::min(
        {pulse_hz, processor_ceiling_hz(controller, motors), promised_hz(controller, motors)});
}

double tick_ceiling_hz(const machine::ControllerPart& controller) {
    return static_cast<double>(tick_hz_of(controller));
}

double driver_ceiling_hz(const machine::DriverPart& driver, const planner::Time& pulse_high) {
    const double high_s = std::max(pulse_high.value(), driver.step_high_min.value());
    const double low_s = driver.step_low_min.value();
    const double shortest_s = driver.both_edges ? std::max(high_s, low_s) : high_s + low_s;
    const double stated_hz = driver.step_rate_max.value() > 0.0
                                 ? driver.step_rate_max.value()
                                 : std::numeric_limits<double>::infinity();
    return shortest_s > 0.0 ? std::min(stated_hz, 1.0 / shortest_s) : stated_hz;
}

}  // namespace stepper_sim::controller
