/// Which lines of a trace belong to which motor: as the machine's [capture] table and options say,
/// else by the names that `pulses` writes (trace_lines.hpp).
#pragma once

#include <string>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/capture/trace_reader.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::capture {

struct MotorLines {
    std::size_t slot = 0;
    std::string step, direction;  // names in the trace
};

/// Selects the lines in `trace`: line 2 i is the step line of motor i of the result, 2 i + 1 its
/// direction line. A motor of which no line is named nor found under its usual name is left out.
/// Errors: trace/no-motor where that leaves none; trace/no-such-channel for one line of two or a
/// named one that is not there; the others of TraceReader::select().
planner::Result<std::vector<MotorLines>> select_lines(const machine::Machine& machine,
                                                      TraceReader& trace,
                                                      const std::string& trace_name);
/// Likewise these. Errors: those of TraceReader::select().
planner::Result<std::vector<MotorLines>> select_lines(TraceReader& trace,
                                                      const std::vector<MotorLines>& motors);

}  // namespace stepper_sim::capture
