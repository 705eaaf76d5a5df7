#include <fmt/core.h>

#include <optional>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim {

namespace {

struct Width {
    std::string_view name;
    planner::Time given;
    std::optional<planner::Time> needed;
};

void too_short(const Axis& axis, const Width& width, Findings& findings) {
    if (!width.needed || width.given >= *width.needed) return;
    Finding finding = words::about("pulse-timing", Grade::fault, axis);
    finding.value = width.given.value();
    finding.limit = width.needed->value();
    finding.unit = "s";
    finding.message = fmt::format("{}: the controller's {} is {}, driver {} needs {}", axis.letter, width.name,
                                  words::interval(width.given.value()), axis.driver.name, words::interval(width.needed->value()));
    findings.push_back(std::move(finding));
}

/// The pause between pulses in the program: the shortest interval less the high time.
void short_pause(const Axis& axis, const MotorTiming& timing, const ControllerPart& controller, Findings& findings) {
    if (timing.steps < 2 || timing.min_low_s >= axis.driver.step_low_min.value()) return;
    Finding finding = words::about("pulse-timing", Grade::fault, axis);
    finding.value = timing.min_low_s;
    finding.limit = axis.driver.step_low_min.value();
    finding.unit = "s";
    finding.message = fmt::format("motor {}: the step line is low for only {} between two {} pulses, driver {} needs {}", axis.letter,
                                  words::interval(timing.min_low_s), words::interval(controller.pulse_high.value()),
                                  axis.driver.name, words::interval(axis.driver.step_low_min.value()));
    words::place(finding, axis, {timing.min_interval_at.line, timing.min_interval_at.time_s, timing.min_interval_at.position_m});
    findings.push_back(std::move(finding));
}

}  // namespace

void check_pulse_timing(const CheckInput& input, Findings& findings) {
    const ControllerPart& controller = input.machine.controller;
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const Axis& axis = input.machine.axes[m];
        too_short(axis, {"step pulse", controller.pulse_high, axis.driver.step_high_min}, findings);
        too_short(axis, {"direction set-up time", controller.direction_setup, axis.driver.setup_min}, findings);
        too_short(axis, {"direction hold time", controller.direction_hold, axis.driver.hold_min}, findings);
        for (const ProgramResult& program : input.programs) short_pause(axis, program.motors[m].timing, controller, findings);
    }
}

}  // namespace stepper_sim
