/// Filled trial sheets named on the command line, read and fitted.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "stepper_sim/tune/fit.hpp"

namespace stepper_sim::cli {

struct FittedSheets {
    std::vector<AxisFit> axes;          // empty for no sheets
    std::vector<std::string> recorded;  // what their captures say, a line each
};

/// The fit of all sheets, with their captures. Prints one line of error for each fault and returns nothing where there is one.
std::optional<FittedSheets> fits_of(const Machine& machine, const MotorModels& models,
                                    const std::vector<std::string>& files);

}  // namespace stepper_sim::cli
