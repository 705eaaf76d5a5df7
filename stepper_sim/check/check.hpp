/// The checks: each is one file and one row of the table in check.cpp. A check is pure: it reads the machine, the motor models and
/// what the programs left behind, and appends findings. Names of checks are stable; README.md#check-the-main-job lists them.
#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "stepper_sim/check/finding.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/margin.hpp"
#include "stepper_sim/run/program_result.hpp"

namespace stepper_sim::check {

struct CheckInput {
    const machine::Machine& machine;
    const run::MotorModels& models;
    std::span<const run::ProgramResult> programs;  // empty: settings only
    double margin = run::
        kDefaultMargin;  // share of what is available that must stay unused for "clear", in [0, 1)
};

using Findings = std::vector<Finding>;

struct CheckRow {
    std::string_view name;
    void (*run)(const CheckInput& input, Findings& findings);
};

std::span<const CheckRow> check_table();

/// Runs every check; worst grade first, and within a grade the largest value/limit first.
Findings run_checks(const CheckInput& input);

Verdict verdict_of(std::span<const Finding> findings);

// The rows, one file each.
void check_steps_per_mm(const CheckInput& input, Findings& findings);
void check_motor_current(const CheckInput& input, Findings& findings);
void check_supply_voltage(const CheckInput& input, Findings& findings);
void check_inertia_ratio(const CheckInput& input, Findings& findings);
void check_falling_load(const CheckInput& input, Findings& findings);
void check_screw_whip(const CheckInput& input, Findings& findings);
void check_step_rate(const CheckInput& input, Findings& findings);
void check_pulse_timing(const CheckInput& input, Findings& findings);
void check_processor_load(const CheckInput& input, Findings& findings);
void check_travel(const CheckInput& input, Findings& findings);
void check_torque(const CheckInput& input, Findings& findings);
void check_speed_step(const CheckInput& input, Findings& findings);
void check_lost_steps(const CheckInput& input, Findings& findings);
void check_ringing(const CheckInput& input, Findings& findings);
void check_program_words(const CheckInput& input, Findings& findings);

}  // namespace stepper_sim::check
