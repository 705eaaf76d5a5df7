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
    finding.message = fmt::format("{}: the controller's {} is {}, driver {} needs {}", axis.letter,
                                  width.name, words::interval(width.given.value()),
                                  axis.driver.name, words::interval(width.needed->value()));
    findings.push_back(std::move(finding));
}

/// What the program's pulses really leave, against the driver; the width of `needed` is what the maker asks.
bool emitted(const Axis& axis, std::string_view name, const Extreme& seen,
             const std::optional<planner::Time>& needed, Findings& findings) {
    // Edges stand on ticks and limits are decimal: a picosecond of rounding is no breach.
    constexpr double kRounding_s = 1e-12;
    if (!needed || seen.value >= needed->value() - kRounding_s) return false;
    Finding finding = words::about("pulse-timing", Grade::fault, axis);
    finding.value = seen.value;
    finding.limit = needed->value();
    finding.unit = "s";
    finding.message = fmt::format("motor {}: {} is only {}, driver {} needs {}", axis.letter, name,
                                  words::interval(seen.value), axis.driver.name,
                                  words::interval(needed->value()));
    words::place(finding, seen);
    findings.push_back(std::move(finding));
    return true;
}

/// A step beside a direction edge that comes too close to it may go the other way: two steps of
/// position each.
void position_lost(const Axis& axis, const MotorTiming& timing, Findings& findings) {
    const double lost_m = 2.0 * static_cast<double>(timing.turns) / axis.steps_per_m();
    Finding finding = words::about("pulse-timing", Grade::fault, axis);
    finding.value = lost_m;
    finding.unit = "m";
    finding.message = fmt::format(
        "motor {}: with direction edges this close to steps, up to {} steps at the program's turns "
        "may go the wrong way: up to {} of position lost",
        axis.letter, timing.turns, words::mm(lost_m));
    findings.push_back(std::move(finding));
}

}  // namespace

void check_pulse_timing(const CheckInput& input, Findings& findings) {
    const ControllerPart& controller = input.machine.controller;
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const Axis& axis = input.machine.axes[m];
        too_short(axis, {"step pulse", controller.pulse_high, axis.driver.step_high_min}, findings);
        too_short(axis,
                  {"direction set-up time", controller.direction_setup, axis.driver.setup_min},
                  findings);
        too_short(axis, {"direction hold time", controller.direction_hold, axis.driver.hold_min},
                  findings);
        for (const ProgramResult& program : input.programs) {
            const MotorTiming& timing = program.motors[m].timing;
            emitted(axis, "the step line high", timing.min_high_s, axis.driver.step_high_min,
                    findings);
            emitted(axis, "the step line low between pulses", timing.min_low_s,
                    axis.driver.step_low_min, findings);
            const bool set_up_short = emitted(axis, "the direction's set-up before a step",
                                              timing.min_setup_s, axis.driver.setup_min, findings);
            const bool hold_short = emitted(axis, "the direction's hold after a step",
                                            timing.min_hold_s, axis.driver.hold_min, findings);
            if (set_up_short || hold_short) position_lost(axis, timing, findings);
        }
    }
}

}  // namespace stepper_sim
