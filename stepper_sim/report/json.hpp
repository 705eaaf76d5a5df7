/// The report as JSON, schema stepper_sim.check.1 (check.schema.json beside this file): SI numbers, units in the key names.
#pragma once

#include <string>

#include "stepper_sim/check/report.hpp"

namespace stepper_sim::report {

std::string to_json(const check::Report& report);

}  // namespace stepper_sim::report
