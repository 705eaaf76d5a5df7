/// Filled trial sheets named on the command line, read and fitted.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "stepper_sim/trial/fit.hpp"

namespace stepper_sim::cli {

/// The fit of all sheets, with their captures. Prints one line of error for each fault and returns nothing where there is one.
std::optional<trial::FittedSheets> fits_of(const machine::Machine& machine,
                                           const run::MotorModels& models,
                                           const std::vector<std::string>& files);

}  // namespace stepper_sim::cli
