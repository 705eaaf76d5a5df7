/// The data block of a page: what its scripts draw, program by program.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/picture/record_program.hpp"

namespace stepper_sim::report {

/// JSON, safe inside a script element. Arrays of many numbers are base64 of little-endian ones; the names say their kind.
std::string page_data(std::span<const picture::RecordedProgram> programs);

}  // namespace stepper_sim::report
