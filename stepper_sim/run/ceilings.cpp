#include "stepper_sim/run/ceilings.hpp"

#include <algorithm>
#include <cmath>

#include "stepper_sim/controller/ceiling.hpp"

namespace stepper_sim::run {

double Ceilings::lowest_hz() const {
    return std::min({driver_hz, controller_hz, tick_hz});
}

Binding Ceilings::binding() const {
    const double lowest = lowest_hz();
    if (lowest == driver_hz) return Binding::driver;
    return lowest == controller_hz ? Binding::controller : Binding::tick;
}

Ceilings ceilings_of(const machine::Machine& machine, const machine::Axis& axis) {
    return {controller::driver_ceiling_hz(axis.driver, machine.controller.pulse_high),
            controller::controller_ceiling_hz(machine.controller,
                                              static_cast<int>(machine.axes.size())),
            controller::tick_ceiling_hz(machine.controller)};
}

double step_rate_hz(const machine::Axis& axis, double motor_speed_m_s) {
    return std::abs(motor_speed_m_s) * axis.steps_per_m();
}

double ceiling_speed_m_s(const machine::Machine& machine, const machine::Axis& axis) {
    return ceilings_of(machine, axis).lowest_hz() / axis.steps_per_m();
}

}  // namespace stepper_sim::run
