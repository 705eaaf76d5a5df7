/// The text and JSON of the `capture` command.
#pragma once

#include <string>

#include "stepper_sim/capture/capture.hpp"

namespace stepper_sim::report {

/// For a terminal of 80 columns: verdict, tables by motor, findings.
std::string capture_text(const capture::CaptureReport& report);
/// Schema stepper_sim.capture.1 (stepper_sim/report/capture.schema.json): SI numbers, units in the key names.
std::string capture_json(const capture::CaptureReport& report);

}  // namespace stepper_sim::report
