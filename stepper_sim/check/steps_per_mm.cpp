#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/steps_fit.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim::check {

namespace {

// Common practice, no source: a value calibrated by measuring parts may differ from the mechanics by belt and screw tolerance.
constexpr double kCalibrated = 0.02;

/// Microsteps with which the steps per mm of the file would be right.
std::optional<int> fitting_microsteps(const machine::Axis& axis, double ratio) {
    for (int microsteps = 1; microsteps <= 256; microsteps *= 2)
        if (microsteps != axis.microsteps &&
            std::abs(ratio * axis.microsteps / microsteps - 1.0) < kTypedShare)
            return microsteps;
    return std::nullopt;
}

bool offers(const machine::DriverPart& driver, int microsteps) {
    const std::vector<int>& offered = driver.microsteps;
    return offered.empty() ||
           std::find(offered.begin(), offered.end(), microsteps) != offered.end();
}

Change change_microsteps(const machine::Machine& machine, const machine::Axis& axis,
                         int microsteps) {
    return {{candidates::set(machine, axis.letter, machine::SettingKey::microsteps, microsteps)}};
}

}  // namespace

void check_steps_per_mm(const CheckInput& input, Findings& findings) {
    for (const machine::Axis& axis : input.machine.axes) {
        const double mechanical = axis.mechanical_steps_per_m() / 1e3;
        const double ratio = steps_ratio(axis);
        const double off = std::abs(ratio - 1.0);
        const std::optional<int> fitting = fitting_microsteps(axis, ratio);
        if (!steps_fit(axis)) {
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
                planner::format_number(mechanical, 6),
                fitting ? fmt::format("; it fits {} microsteps, not {}", *fitting, axis.microsteps)
                        : std::string());
            // Microsteps that the driver lacks are the mistake; else either may be.
            const bool lacks = fitting && !offers(axis.driver, axis.microsteps);
            if (lacks)
                candidates::add(finding.changes, change_microsteps(input.machine, axis, *fitting));
            candidates::add(finding.changes, {{candidates::set(input.machine, axis.letter,
                                                               machine::SettingKey::steps_per_mm,
                                                               mechanical * 1e3)}});
            if (fitting && !lacks && offers(axis.driver, *fitting))
                candidates::add(finding.changes, change_microsteps(input.machine, axis, *fitting));
            findings.push_back(std::move(finding));
        }
        if (!offers(axis.driver, axis.microsteps)) {
            const std::vector<int>& offered = axis.driver.microsteps;
            Finding finding = words::about("steps-per-mm", Grade::fault, axis);
            finding.value = axis.microsteps;
            finding.limit = *std::max_element(offered.begin(), offered.end());
            finding.unit = "1";
            finding.message = fmt::format("{}: driver {} has no setting of {} microsteps",
                                          axis.letter, axis.driver.name, axis.microsteps);
            if (fitting && offers(axis.driver, *fitting))
                candidates::add(finding.changes, change_microsteps(input.machine, axis, *fitting));
            // Where the figures agree with each other, the next fewer that it has.
            const auto slot = static_cast<std::size_t>(&axis - input.machine.axes.data());
            if (const auto fewer = candidates::fewer_microsteps(input, slot, 1.0))
                candidates::add(finding.changes, *fewer);
            findings.push_back(std::move(finding));
        }
    }
}

}  // namespace stepper_sim::check
