#include <fmt/core.h>

#include <cmath>
#include <cstdlib>

#include <algorithm>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim {

namespace {

// Common practice, no source: a value calibrated by measuring parts may differ from the mechanics by belt and screw tolerance.
constexpr double kCalibrated = 0.02;
// Rounding of a typed value: four digits.
constexpr double kTyped = 2e-4;

std::string likely_cause(const Axis& axis, double ratio) {
    for (int microsteps = 1; microsteps <= 256; microsteps *= 2)
        if (microsteps != axis.microsteps &&
            std::abs(ratio * axis.microsteps / microsteps - 1.0) < kTyped)
            return fmt::format("; it fits {} microsteps, not {}", microsteps, axis.microsteps);
    return {};
}

}  // namespace

void check_steps_per_mm(const CheckInput& input, Findings& findings) {
    for (const Axis& axis : input.machine.axes) {
        const double mechanical = axis.mechanical_steps_per_m() / 1e3;
        const double ratio = axis.settings.steps_per_mm / mechanical;
        const double off = std::abs(ratio - 1.0);
        if (off > kTyped) {
            Finding finding =
                words::about("steps-per-mm", off > kCalibrated ? Grade::fault : Grade::risk, axis);
            finding.value = axis.steps_per_m();
            finding.limit = mechanical * 1e3;
            finding.unit = "1/m";
            finding.message = fmt::format(
                "{}: {} steps/mm is set, but {} steps a turn x {} microsteps over {} a turn give "
                "{}{}",
                axis.letter, planner::format_number(axis.settings.steps_per_mm, 6),
                axis.motor.steps_per_turn, axis.microsteps,
                words::mm(axis.drive.travel_per_turn().value()),
                planner::format_number(mechanical, 6), likely_cause(axis, ratio));
            finding.change = fmt::format("{} = {}", words::setting(axis, "steps_per_mm"),
                                         planner::format_number(mechanical, 8));
            findings.push_back(std::move(finding));
        }
        const std::vector<int>& offered = axis.driver.microsteps;
        if (!offered.empty() &&
            std::find(offered.begin(), offered.end(), axis.microsteps) == offered.end()) {
            Finding finding = words::about("steps-per-mm", Grade::fault, axis);
            finding.value = axis.microsteps;
            finding.limit = *std::max_element(offered.begin(), offered.end());
            finding.unit = "1";
            finding.message = fmt::format("{}: driver {} has no setting of {} microsteps",
                                          axis.letter, axis.driver.name, axis.microsteps);
            findings.push_back(std::move(finding));
        }
    }
}

}  // namespace stepper_sim
