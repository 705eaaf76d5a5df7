/// A small machine and ways to run text programs on it, for the tests of checks, reports and commands.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/verified_change.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/run_program.hpp"
#include "tests/stepper_sim/temp_folder.hpp"

namespace stepper_sim::samples {

inline const std::filesystem::path kConfigs = STEPPER_SIM_CONFIGS;

/// Two belt axes and a lifting screw, well within their means.
inline constexpr std::string_view kBench = R"(
name = "bench"
kinematics = "cartesian"
controller = "controllers/cortex-m4-168mhz-line.toml"
[planning]
corner = "speed-step"
lookahead_moves = 16
arc_tolerance = "0.01 mm"
[axes.x]
travel = ["0 mm", "200 mm"]
drive = { belt_pitch = "2 mm", pulley_teeth = 20 }
motor = "motors/qsh4218-51-10-049.toml"
driver = "drivers/tmc2209.toml"
current = { rms = "1 A" }
supply = "24 V"
microsteps = 16
load = { mass = "0.3 kg", friction = "2 N" }
stiffness = "9000 N/mm"
settings = { steps_per_mm = 80, max_speed = "150 mm/s", max_acceleration = "1500 mm/s^2", speed_step = "5 mm/s" }
[axes.y]
travel = ["0 mm", "200 mm"]
drive = { belt_pitch = "2 mm", pulley_teeth = 20 }
motor = "motors/qsh4218-51-10-049.toml"
driver = "drivers/tmc2209.toml"
current = { rms = "1 A" }
supply = "24 V"
microsteps = 16
load = { mass = "0.5 kg", friction = "2 N" }
stiffness = "9000 N/mm"
settings = { steps_per_mm = 80, max_speed = "150 mm/s", max_acceleration = "1500 mm/s^2", speed_step = "5 mm/s" }
[axes.z]
travel = ["-10 mm", "100 mm"]
drive = { screw_lead = "8 mm", efficiency = 0.5 }
motor = "motors/qsh4218-51-10-049.toml"
driver = "drivers/tmc2209.toml"
current = { rms = "1 A" }
supply = "24 V"
microsteps = 16
load = { mass = "1 kg", friction = "5 N", vertical = true }
settings = { steps_per_mm = 400, max_speed = "10 mm/s", max_acceleration = "100 mm/s^2", speed_step = "0.4 mm/s" }
)";

/// The lines of the machine file that a finding proposes; empty: none.
inline std::string proposed_lines(const check::Finding& finding) {
    const check::Change* change = check::shown_change(finding, {});
    return change != nullptr ? check::words::lines(*change) : std::string();
}

/// The value it proposes first, SI; 0: none.
inline double proposed_value(const check::Finding& finding) {
    const check::Change* change = check::shown_change(finding, {});
    EXPECT_NE(change, nullptr) << finding.message;
    return change != nullptr ? change->settings.front().to.value : 0.0;
}

/// `kBench` with every `from` replaced by `to`; fails the test where `from` does not occur.
inline std::string changed(std::string_view from, std::string_view to,
                           std::string text = std::string(kBench)) {
    std::size_t at = text.find(from), times = 0;
    for (; at != std::string::npos; at = text.find(from, at + to.size()), ++times)
        text.replace(at, from.size(), to);
    EXPECT_GT(times, 0U) << "no '" << from << "' in the sample";
    return text;
}

inline machine::Machine machine_from(const std::string& text = std::string(kBench)) {
    auto machine = machine::read_machine_text(text, "bench.toml", {kConfigs});
    for (const planner::Diagnostic& diagnostic : machine.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return std::move(machine).value();
}

/// A machine of configs/machines.
inline machine::Machine shipped(const std::string& name) {
    auto machine = machine::read_machine(kConfigs / "machines" / (name + ".toml"), {kConfigs});
    for (const planner::Diagnostic& diagnostic : machine.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return std::move(machine).value();
}

/// All moves of a program.
inline std::vector<planner::MotorMove> moves_of(const machine::Machine& machine,
                                                const std::filesystem::path& program) {
    std::vector<planner::MotorMove> moves;
    EXPECT_TRUE(run::plan_file(machine, program, [&](std::span<const planner::MotorMove> block) {
        moves.insert(moves.end(), block.begin(), block.end());
        return true;
    }));
    return moves;
}

/// A file in a folder of its own, gone when the object is.
class TextFile {
  public:
    explicit TextFile(std::string_view content, const std::string& name = "program.ngc")
        : path_(folder_.write(name, std::string(content))) {}
    const std::filesystem::path& path() const { return path_; }
    std::string name() const { return path_.string(); }

  private:
    TempFolder folder_;
    std::filesystem::path path_;
};

inline planner::Result<run::ProgramResult> try_program(const machine::Machine& machine,
                                                       std::string_view text,
                                                       bool dynamics = false) {
    const TextFile file(text);
    // Dynamics have tests of their own (lost_steps_test.cpp).
    return run::run_program(machine, run::motor_models(machine), file.path(),
                            {.dynamics = dynamics});
}

inline run::ProgramResult run_text(const machine::Machine& machine, std::string_view text,
                                   bool dynamics = false) {
    auto result = try_program(machine, text, dynamics);
    for (const planner::Diagnostic& diagnostic : result.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return std::move(result).value();
}

/// All findings of one check, by name, on the settings and on the program if there is one.
inline check::Findings findings_of(std::string_view check, const machine::Machine& machine,
                                   std::string_view program = {},
                                   double margin = run::kDefaultMargin) {
    const run::MotorModels models = run::motor_models(machine);
    std::vector<run::ProgramResult> programs;
    if (!program.empty()) programs.push_back(run_text(machine, program));
    check::Findings kept;
    for (const check::Finding& finding : check::run_checks({machine, models, programs, margin}))
        if (finding.check == check) kept.push_back(finding);
    return kept;
}

inline bool any_with(const check::Findings& findings, check::Grade grade, char motor = 0) {
    return std::any_of(findings.begin(), findings.end(), [&](const check::Finding& finding) {
        return finding.grade == grade && (motor == 0 || finding.motor == motor);
    });
}

}  // namespace stepper_sim::samples
