#include "stepper_sim/controller/continuous.hpp"
#include "stepper_sim/controller/styles.hpp"

namespace stepper_sim::controller {

std::unique_ptr<Style> make_scheduled(const machine::Machine& machine) {
    return std::make_unique<ContinuousStyle>(machine, tick_hz_of(machine.controller));
}

}  // namespace stepper_sim::controller
