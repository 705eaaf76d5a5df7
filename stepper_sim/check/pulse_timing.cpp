#include <fmt/core.h>

#include <algorithm>
#include <optional>

#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim::check {

namespace {

struct Width {
    std::string_view name;
    planner::Time given;
    std::optional<planner::Time> needed;
};

/// All of the controller's widths that are too short for any driver, at once: they are the same for every motor.
Change wider(const machine::Machine& machine) {
    Change change;
    const auto widen = [&](machine::SettingKey key, auto&& needed_by) {
        double needed_s = 0.0;
        for (const machine::Axis& axis : machine.axes)
            if (const std::optional<planner::Time> needed = needed_by(axis.driver))
                needed_s = std::max(needed_s, needed->value());
        if (needed_s > machine::present_value(machine, 0, key))
            change.settings.push_back(candidates::set(machine, 0, key, needed_s));
    };
    widen(machine::SettingKey::pulse_high,
          [](const machine::DriverPart& driver) { return std::optional(driver.step_high_min); });
    widen(machine::SettingKey::direction_setup,
          [](const machine::DriverPart& driver) { return driver.setup_min; });
    widen(machine::SettingKey::direction_hold,
          [](const machine::DriverPart& driver) { return driver.hold_min; });
    return change;
}

/// The pause between pulses is what is left of the interval: longer intervals.
void add_longer_pause(const CheckInput& input, std::size_t motor,
                      const controller::MotorTiming& timing, std::vector<Change>& changes) {
    const machine::Axis& axis = input.machine.axes[motor];
    const double high_s =
        std::max(input.machine.controller.pulse_high.value(), axis.driver.step_high_min.value());
    const double needed_s = high_s + axis.driver.step_low_min.value();
    candidates::add_slower_steps(input, motor, (high_s + timing.min_low_s.value) / needed_s,
                                 candidates::Reached::in_programs, changes);
}

void too_short(const machine::Machine& machine, const machine::Axis& axis, const Width& width,
               Findings& findings) {
    if (!width.needed || width.given >= *width.needed) return;
    Finding finding = words::about("pulse-timing", Grade::fault, axis);
    finding.value = width.given.value();
    finding.limit = width.needed->value();
    finding.unit = "s";
    finding.message = fmt::format("{}: the controller's {} is {}, driver {} needs {}", axis.letter,
                                  width.name, words::interval(width.given.value()),
                                  axis.driver.name, words::interval(width.needed->value()));
    candidates::add(finding.changes, wider(machine));
    findings.push_back(std::move(finding));
}

/// What the program's pulses really leave, against the driver; the width of `needed` is what the maker asks.
bool emitted(const machine::Axis& axis, std::string_view name, const controller::Extreme& seen,
             const std::optional<planner::Time>& needed, const std::vector<Change>& changes,
             Findings& findings) {
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
    finding.changes = changes;
    findings.push_back(std::move(finding));
    return true;
}

/// A step beside a direction edge that comes too close to it may go the other way: two steps of
/// position each.
void position_lost(const machine::Axis& axis, const controller::MotorTiming& timing,
                   const std::vector<Change>& changes, Findings& findings) {
    const double lost_m = 2.0 * static_cast<double>(timing.turns) / axis.steps_per_m();
    Finding finding = words::about("pulse-timing", Grade::fault, axis);
    finding.value = lost_m;
    finding.unit = "m";
    finding.message = fmt::format(
        "motor {}: with direction edges this close to steps, up to {} steps at the program's turns "
        "may go the wrong way: up to {} of position lost",
        axis.letter, timing.turns, words::mm(lost_m));
    finding.changes = changes;
    findings.push_back(std::move(finding));
}

}  // namespace

void check_pulse_timing(const CheckInput& input, Findings& findings) {
    const machine::ControllerPart& controller = input.machine.controller;
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const machine::Axis& axis = input.machine.axes[m];
        too_short(input.machine, axis,
                  {"step pulse", controller.pulse_high, axis.driver.step_high_min}, findings);
        too_short(input.machine, axis,
                  {"direction set-up time", controller.direction_setup, axis.driver.setup_min},
                  findings);
        too_short(input.machine, axis,
                  {"direction hold time", controller.direction_hold, axis.driver.hold_min},
                  findings);
        for (const run::ProgramResult& program : input.programs) {
            const controller::MotorTiming& timing = program.motors[m].timing;
            std::vector<Change> widths, pauses;
            candidates::add(widths, wider(input.machine));
            add_longer_pause(input, m, timing, pauses);
            emitted(axis, "the step line high", timing.min_high_s, axis.driver.step_high_min,
                    widths, findings);
            emitted(axis, "the step line low between pulses", timing.min_low_s,
                    axis.driver.step_low_min, pauses, findings);
            const bool set_up_short =
                emitted(axis, "the direction's set-up before a step", timing.min_setup_s,
                        axis.driver.setup_min, widths, findings);
            const bool hold_short =
                emitted(axis, "the direction's hold after a step", timing.min_hold_s,
                        axis.driver.hold_min, widths, findings);
            if (set_up_short || hold_short) position_lost(axis, timing, widths, findings);
        }
    }
}

}  // namespace stepper_sim::check
