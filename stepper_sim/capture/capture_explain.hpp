/// Why a trace does not follow a program, where one of two usual causes shows: its lines carry other motors than they are named
/// for, or the program ran with other settings. A cause is said only where the whole trace follows the program under it.
/// Parts: capture_channels.hpp, capture_settings.hpp; their words: capture_explain_findings.cpp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "stepper_sim/capture/capture_channels.hpp"
#include "stepper_sim/capture/capture_scales.hpp"

namespace stepper_sim::capture {

struct OtherChannels {
    struct Motor {
        char letter = 'X';
        std::string step, direction;  // lines of the trace
    };
    std::vector<Motor> motors;         // that are on other lines than named
    std::vector<std::string> inverts;  // lines whose polarity must be said anew, such as step.x
    /// Letters of motors that fit each other's lines as well: then nothing above is known.
    std::string alike;
};

struct OtherSettings {
    SettingScales scales = kAsSet;
    std::vector<SettingScales> others;  // that explain the trace as well
    double in_place = 0.0;              // share of the steps that are then in place
    double within_s = 0.0;              // of its time, nine in ten of those, of the worst motor
};

/// A machine file, and lines, as they seem to have been.
struct Supposed {
    machine::Machine machine;
    std::optional<std::vector<MotorLines>> lines;  // else as named
    std::optional<OtherChannels> channels;
    std::optional<OtherSettings> settings;
};

/// Other lines, where exactly one reading of them fits the plan and it is not the named one; where more do, only which motors are
/// alike.
std::optional<Supposed> suppose_channels(const machine::Machine& machine,
                                         const run::ProgramSource& program, const TraceHead& head);
/// Other settings, for lines as named.
std::optional<Supposed> suppose_settings(const machine::Machine& machine,
                                         const run::ProgramSource& program, const TraceHead& head);

}  // namespace stepper_sim::capture
