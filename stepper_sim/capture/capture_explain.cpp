#include "stepper_sim/capture/capture_explain.hpp"

#include <algorithm>

#include "stepper_sim/capture/capture_settings.hpp"

namespace stepper_sim::capture {
namespace {

/// Letters of motors that two readings put on different lines.
std::string letters_of_alike(const machine::Machine& machine, const std::vector<Channels>& fits) {
    std::string letters;
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot) {
        const auto on = [&](const Channels& reading) {
            const auto found =
                std::find_if(reading.begin(), reading.end(),
                             [&](const MotorChannels& motor) { return motor.slot == slot; });
            return found == reading.end() ? MotorChannels{slot, SIZE_MAX, SIZE_MAX} : *found;
        };
        const bool same = std::all_of(fits.begin(), fits.end(), [&](const Channels& reading) {
            return on(reading) == on(fits.front());
        });
        if (!same) letters += machine.axes[slot].letter;
    }
    return letters;
}

OtherChannels difference(const machine::Machine& named, const TraceHead& head,
                         const Supposed& supposed) {
    OtherChannels other;
    for (const MotorLines& lines : *supposed.lines) {
        const bool as_before =
            std::any_of(head.motors.begin(), head.motors.end(), [&](const MotorLines& motor) {
                return motor.slot == lines.slot && motor.step == lines.step &&
                       motor.direction == lines.direction;
            });
        if (as_before) continue;
        const machine::Axis &before = named.axes[lines.slot],
                            &after = supposed.machine.axes[lines.slot];
        other.motors.push_back({before.letter, lines.step, lines.direction});
        const std::string letter = planner::axis_key(before.letter);
        if (before.step_line.inverted != after.step_line.inverted)
            other.inverts.push_back("step." + letter);
        if (before.direction_line.inverted != after.direction_line.inverted)
            other.inverts.push_back("direction." + letter);
    }
    return other;
}

}  // namespace

std::optional<Supposed> suppose_channels(const machine::Machine& machine,
                                         const run::ProgramSource& program, const TraceHead& head) {
    const std::vector<Channels> fits = fitting_channels(machine, program, head);
    const bool named = std::any_of(
        fits.begin(), fits.end(), [&](const Channels& reading) { return as_named(reading, head); });
    if (fits.empty() || named) return std::nullopt;
    Supposed supposed{machine, {}, {}, {}};
    if (fits.size() > 1) {
        supposed.channels.emplace().alike = letters_of_alike(machine, fits);
        return supposed;
    }
    supposed.lines = lines_under(fits.front(), head, supposed.machine);
    supposed.channels = difference(machine, head, supposed);
    return supposed;
}

std::optional<Supposed> suppose_settings(const machine::Machine& machine,
                                         const run::ProgramSource& program, const TraceHead& head) {
    std::vector<SettingScales> scales = fitting_scales(machine, program, head);
    if (scales.empty()) return std::nullopt;
    Supposed supposed{scaled_machine(machine, scales.front()), {}, {}, {}};
    OtherSettings& settings = supposed.settings.emplace();
    settings.scales = scales.front();
    settings.others.assign(scales.begin() + 1, scales.end());
    return supposed;
}

}  // namespace stepper_sim::capture
