/// The beginning of a trace, line by line: kept while it is not known which motor a line belongs to, or what settings ran.
/// Bounded; the rest of the trace is not looked at.
#pragma once

#include <iosfwd>
#include <span>
#include <string>
#include <vector>

#include "stepper_sim/capture/capture_lines.hpp"
#include "stepper_sim/capture/capture_motor.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::capture {

struct HeadLine {
    std::string name;
    bool inverted = false;             // as it was said of the motor it is named for
    std::vector<LevelChange> changes;  // active is high
    std::size_t rises = 0;
};

struct TraceHead {
    std::vector<MotorLines> motors;  // as named
    std::vector<HeadLine> lines;     // 2 i: step line of motor i, 2 i + 1: its direction line
    std::int64_t begin_ps = INT64_MAX, end_ps = 0;  // first edge, and up to where all is known
    std::int64_t resolution_ps = 1;
};

/// `trace` is read from its beginning again. Errors: those of trace_reader.hpp and capture_lines.hpp.
planner::Result<TraceHead> read_head(const machine::Machine& machine, std::istream& trace,
                                     const std::string& trace_name, std::int64_t resolution_ps);

/// Rises of a line, all with direction 1.
std::vector<CapturedPulse> rises_of(const HeadLine& step);
/// Likewise, with the directions that another line shows.
std::vector<CapturedPulse> pulses_of(const HeadLine& step, const HeadLine& direction);

}  // namespace stepper_sim::capture
