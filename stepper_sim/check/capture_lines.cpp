#include "stepper_sim/check/capture_lines.hpp"

#include <algorithm>

#include "stepper_sim/controller/trace_lines.hpp"

namespace stepper_sim {
namespace {

bool named(const Axis& axis) {
    return !axis.step_line.channel.empty() || !axis.direction_line.channel.empty();
}

/// A channel of this name, its scopes and its place in a bus left out.
bool shows(const std::vector<std::string>& channels, const std::string& name) {
    return std::any_of(channels.begin(), channels.end(), [&](const std::string& channel) {
        return channel == name || channel.ends_with('.' + name);
    });
}

}  // namespace

planner::Result<std::vector<MotorLines>> select_lines(const Machine& machine, TraceReader& trace) {
    const bool any_named = std::any_of(machine.axes.begin(), machine.axes.end(), named);
    const std::vector<std::string> channels = trace.channels();
    std::vector<MotorLines> motors;
    std::vector<std::string> names;
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot) {
        const Axis& axis = machine.axes[slot];
        MotorLines lines{slot, axis.step_line.channel, axis.direction_line.channel};
        if (lines.step.empty()) lines.step = step_line_name(axis.letter);
        if (lines.direction.empty()) lines.direction = direction_line_name(axis.letter);
        if (any_named && !named(axis) && !shows(channels, lines.step)) continue;
        names.push_back(lines.step);
        names.push_back(lines.direction);
        motors.push_back(std::move(lines));
    }
    const std::vector<planner::Diagnostic> wrong = trace.select(names);
    if (!wrong.empty()) return wrong;
    return motors;
}

}  // namespace stepper_sim
