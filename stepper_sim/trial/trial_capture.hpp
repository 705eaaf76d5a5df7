/// What a recorded trace of a trial says about its rungs: the value each really ran at. Controllers round, cap and forget settings;
/// a rung that ran at another acceleration than its sheet says teaches a fit the wrong thing.
/// Model:   each rung is a few bursts of pulses with silence between; the planner says how long they last at a value
/// Formula: the value at which the planned bursts of a rung last as long as the recorded ones
/// Symbols: none
/// Valid:   the trace ends with the last rung that has an answer; settings that do not change the time of the strokes cannot be told
/// Source:  derived here
/// Checked by: TrialCapture.*
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/trial/trial_sheet.hpp"

namespace stepper_sim::trial {

/// What was recorded of a rung with an answer.
struct RecordedRung {
    std::size_t index = 0;  // in the sheet
    double value = 0.0;     // it ran at, SI; the sheet's own where the recording agrees with it
    bool agrees = true;
};

/// Errors: those of trace_reader.hpp and capture_lines.hpp; trial/not-captured, trial/other-trace.
planner::Result<std::vector<RecordedRung>> recorded_rungs(const TrialSheet& sheet,
                                                          const machine::Machine& machine,
                                                          const run::MotorModels& models,
                                                          std::istream& trace,
                                                          const std::string& trace_name);

/// Opens the sheet's capture, and puts the values really run in the place of the sheet's. Returns one sentence on each rung that
/// differs, or on their agreement; nothing for a sheet without one. Errors: likewise, and trial/no-capture.
planner::Result<std::vector<std::string>> take_capture(TrialSheet& sheet,
                                                       const machine::Machine& machine,
                                                       const run::MotorModels& models);

}  // namespace stepper_sim::trial
