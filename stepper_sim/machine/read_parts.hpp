/// Reads one part file of the catalogue: TOML to the structs of parts.hpp. Its keys: the shipped files in configs/motors, drivers and
/// controllers. Read next: read_machine.hpp.
#pragma once

#include <filesystem>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::machine {

/// Errors: any machine/ and units/ id (tests/golden/errors), all of the file at once. Never hangs
/// on a pipe or device.
planner::Result<MotorPart> read_motor(const std::filesystem::path& file);
planner::Result<DriverPart> read_driver(const std::filesystem::path& file);
planner::Result<ControllerPart> read_controller(const std::filesystem::path& file);

}  // namespace stepper_sim::machine
