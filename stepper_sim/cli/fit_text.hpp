/// The text of the `fit` command: what was believed, what the sheets made of it, what they now expect.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/tune/fitted_machine.hpp"

namespace stepper_sim::cli {

std::string fit_text(const Machine& machine, std::span<const AxisFit> fits,
                     std::span<const FittedValue> values);

}  // namespace stepper_sim::cli
