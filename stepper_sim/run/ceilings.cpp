#include "stepper_sim/run/ceilings.hpp"

#include <algorithm>
#include <cmath>

#include "stepper_sim/controller/ceiling.hpp"

namespace stepper_sim {

double Ceilings::lowest_hz() const {
    return std::min({driver_hz, controller_hz, tick_hz});
}

Binding Ceilings::binding() const {
    const double lowest = lowest_hz();
    if (lowest == driver_hz) return Binding::driver;
    return lowest == controller_hz ? Binding::controller : Binding::tick;
}

Ceilings ceilings_of(const Machine& machine, const Axis& axis) {
    return {driver_ceiling_hz(axis.driver, machine.controller.pulse_high),
            controller_ceiling_hz(machine.controller, static_cast<int>(machine.axes.size())),
            tick_ceiling_hz(machine.controller)};
}

double step_rate_hz(const Axis& axis, double motor_speed_m_s) {
    return std::abs(motor_speed_m_s) * axis.steps_per_m();
}

double ceiling_speed_m_s(const Machine& machine, const Axis& axis) {
    return ceilings_of(machine, axis).lowest_hz() / axis.steps_per_m();
}

}  // namespace stepper_sim
