/// Everything a view (text, JSON, page) may show of one check, as plain SI numbers: views read this struct and nothing else.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/measure_next.hpp"
#include "stepper_sim/check/verified_change.hpp"
#include "stepper_sim/run/ceilings.hpp"

namespace stepper_sim::check {

struct ProgramSummary {
    std::vector<std::string> files;
    std::uint64_t lines = 0, moves = 0;
    double duration_s = 0.0;
    double path_m = 0.0, filament_m = 0.0;  // of the tool along X Y Z, and of E
    std::map<std::string, std::uint64_t> unknown_words;
    bool units_stated = true;
    bool default_inches = false;
};

struct AxisSummary {
    char letter = 'X';
    double peak_speed_m_s = 0.0, peak_acceleration_m_s2 = 0.0;
    double end_m = 0.0, min_m = 0.0, max_m = 0.0;
};

/// What is to be flashed for one axis.
struct SettingsSummary {
    char letter = 'X';
    double max_speed_m_s = 0.0, max_acceleration_m_s2 = 0.0, speed_step_m_s = 0.0;
    double steps_per_mm = 0.0, current_rms_A = 0.0;
    int microsteps = 16;
    std::string_view step_rate_binds;  // the ceiling that step_rate_speed_m_s meets
};

struct MotorSummary {
    char letter = 'X';
    std::int64_t steps = 0, net_steps = 0;
    double peak_step_rate_hz = 0.0;
    run::Ceilings ceilings;
    double min_interval_s = 0.0;   // 0: fewer than two steps
    double torque_use_peak = 0.0;  // against the low curve
    double torque_use_nominal = 0.0, torque_use_high = 0.0;
    double speed_step_use_peak = 0.0;
    bool screened = false;             // else the next three were not looked at
    double modal_ratio_peak = 0.0;     // of the resonance screen
    double load_angle_peak_rad = 0.0;  // electrical; pi/2 is one full step
    double ringing_peak_m = 0.0;       // swing left on the tool by corners and speed steps
    double base_speed_m_s = 0.0;       // axis speed at the motor's base speed
    double top_speed_m_s = 0.0;        // the setting
    double step_rate_speed_m_s = 0.0;  // highest axis speed all ceilings allow
    std::string torque_basis;          // one sentence on where the torque curve comes from
};

struct ControllerSummary {
    std::string name, style;
    double load_peak = 0.0;
    std::uint64_t late_pulses = 0;
    double lateness_peak_s = 0.0;
};

struct PartUse {
    std::string kind, name, source;
    machine::Known known = machine::Known::read;
};

struct Report {
    Verdict verdict = Verdict::clear;
    std::string machine_name, machine_file;
    double margin = run::kDefaultMargin;
    bool has_program = false;
    bool worst_case = false;     // the worst-case moves of the settings stand for a program
    bool unknown_words = false;  // in a program, neither of the standard nor of the machine file
    ProgramSummary program;
    std::vector<SettingsSummary> settings;
    std::vector<AxisSummary> axes;
    std::vector<MotorSummary> motors;
    ControllerSummary controller;
    Findings findings;  // in the order of consequence.hpp
    ChangeFirst change_first;
    std::optional<Measurement> measure_next;  // of what is not clear
    std::vector<PartUse> parts;
    std::vector<std::string> assumptions;  // what the figures rest on, one sentence each
};

/// Runs the checks and gathers what views need; what to change first is not checked again.
Report make_report(const CheckInput& input);
/// Checks again what to change first: verified_change.hpp.
Report make_report(const CheckInput& input, const Recheck& recheck,
                   const run::ProgressCall& progress = {});

/// The verdict in one word.
std::string_view to_word(Verdict verdict);
std::string_view to_word(Grade grade);
std::string_view to_word(machine::ControllerStyle style);

}  // namespace stepper_sim::check
