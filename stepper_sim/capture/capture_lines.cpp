#include "stepper_sim/capture/capture_lines.hpp"

#include <algorithm>

#include "stepper_sim/capture/trace_lines.hpp"

namespace stepper_sim::capture {
namespace {

bool named(const machine::Axis& axis) {
    return !axis.step_line.channel.empty() || !axis.direction_line.channel.empty();
}

/// A channel of this name, its scopes and its place in a bus left out.
bool shows(const std::vector<std::string>& channels, const std::string& name) {
    return std::any_of(channels.begin(), channels.end(), [&](const std::string& channel) {
        const std::string line = channel.substr(0, channel.rfind('['));
        return channel == name || line == name || line.ends_with('.' + name);
    });
}

planner::Diagnostic no_motor(const std::string& trace, const std::vector<std::string>& lines,
                             char letter) {
    return {"trace/no-motor",
            {trace, 0, 0},
            "no line of a motor",
            "two for a motor, such as " + step_line_name(letter) + " and " +
                direction_line_name(letter) + ", among the recorded lines: " + listed(lines),
            "name them with --channel or in [capture]"};
}

}  // namespace

planner::Result<std::vector<MotorLines>> select_lines(const machine::Machine& machine,
                                                      TraceReader& trace,
                                                      const std::string& trace_name) {
    const std::vector<std::string> channels = trace.channels();
    std::vector<MotorLines> motors;
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot) {
        const machine::Axis& axis = machine.axes[slot];
        MotorLines lines{slot, axis.step_line.channel, axis.direction_line.channel};
        if (lines.step.empty()) lines.step = step_line_name(axis.letter);
        if (lines.direction.empty()) lines.direction = direction_line_name(axis.letter);
        if (!named(axis) && !shows(channels, lines.step) && !shows(channels, lines.direction))
            continue;
        motors.push_back(std::move(lines));
    }
    if (motors.empty()) return no_motor(trace_name, channels, machine.axes.front().letter);
    return select_lines(trace, motors);
}

planner::Result<std::vector<MotorLines>> select_lines(TraceReader& trace,
                                                      const std::vector<MotorLines>& motors) {
    std::vector<std::string> names;
    for (const MotorLines& lines : motors) {
        names.push_back(lines.step);
        names.push_back(lines.direction);
    }
    const std::vector<planner::Diagnostic> wrong = trace.select(names);
    if (!wrong.empty()) return wrong;
    return motors;
}

}  // namespace stepper_sim::capture
