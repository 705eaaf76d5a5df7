/// Judges a recorded trace of step and direction lines: against the drivers' timing and, with a
/// program, against the pulses that the machine's controller plans for it. Both sides stream: memory
/// does not grow with trace or program. Parts: capture_lines.hpp (which line is which),
/// capture_motor.hpp (what a motor's lines show), capture_align.hpp (where in the program the trace
/// begins), capture_match.hpp (pulse by pulse), capture_explain.hpp (why it does not fit),
/// capture_findings.cpp (what is wrong).
#pragma once

#include <filesystem>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "stepper_sim/capture/capture_explain.hpp"
#include "stepper_sim/capture/capture_match.hpp"
#include "stepper_sim/capture/capture_motor.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/run/plan_file.hpp"

namespace stepper_sim::capture {

struct CaptureOptions {
    std::optional<double> resolution_s;            // of the recording; else the trace's own
    std::optional<std::filesystem::path> program;  // to compare with
    std::uint64_t trace_bytes = 0;                 // for progress; 0: not known
};

struct CapturedMotor {
    std::size_t slot = 0;
    char letter = 'X';
    std::string step_channel, direction_channel;
    double steps_per_m = 0.0;
    MotorCapture lines;
    bool inverted = false;            // the step line is read upside down: nothing else is judged
    std::optional<MotorMatch> match;  // with a program that the trace fits
};

struct CaptureReport {
    check::Verdict verdict = check::Verdict::clear;
    std::string machine_name, machine_file, trace_file, program_file;
    double resolution_s = 0.0;
    double begin_s = 0.0, end_s = 0.0;  // first edge of a line, last time of the trace
    std::vector<CapturedMotor> motors;
    std::string not_captured;  // letters of motors that the trace does not show
    bool shared_motors = false;
    bool compared = false;            // a program was given
    bool aligned = false;             // and the trace fits it
    double program_at_begin_s = 0.0;  // program time at begin_s
    double drift = 0.0;               // of the trace's clock against the plan's, as a share
    bool drift_known = false;
    std::optional<OtherChannels> channels;  // than named: the comparison is under these
    std::optional<OtherSettings> settings;  // than the machine file's, likewise
    check::Findings findings;
};

/// Reads a trace to its end; where it does not follow the program, from its beginning once more
/// under what may be the cause (a stream that cannot go back is judged without). Errors: those of trace_reader.hpp, capture_lines.hpp and plan_file.hpp.
planner::Result<CaptureReport> run_capture(const machine::Machine& machine, std::istream& trace,
                                           const std::string& trace_name,
                                           const CaptureOptions& options,
                                           const run::ProgressCall& progress = {});

/// What is wrong with it, into report.findings and report.verdict.
void judge_capture(const machine::Machine& machine, CaptureReport& report);

/// Of those, what report.channels and report.settings say.
void judge_explained(const machine::Machine& machine, CaptureReport& report);

}  // namespace stepper_sim::capture
