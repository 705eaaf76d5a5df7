#include "stepper_sim/controller/continuous.hpp"
#include "stepper_sim/controller/styles.hpp"

namespace stepper_sim::controller {

std::unique_ptr<Style> make_ideal(const machine::Machine& machine) {
    return std::make_unique<ContinuousStyle>(machine, kIdealTick_hz);
}

}  // namespace stepper_sim::controller
