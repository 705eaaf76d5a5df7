#include "stepper_sim/capture/capture_head.hpp"

#include <algorithm>

namespace stepper_sim::capture {
namespace {

// Guess: some 100000 pulses hold strokes and corners enough of any program; 4 MB.
constexpr std::size_t kMostChanges = std::size_t{1} << 18U;

Level active(Level level, bool inverted) {
    if (!inverted || level == Level::unknown) return level;
    return level == Level::high ? Level::low : Level::high;
}

void take(const LevelChange& change, TraceHead& head) {
    HeadLine& line = head.lines[change.line];
    const Level level = active(change.level, line.inverted);
    const Level before = line.changes.empty() ? Level::unknown : line.changes.back().level;
    if (before != Level::unknown) head.begin_ps = std::min(head.begin_ps, change.time_ps);
    line.rises += before == Level::low && level == Level::high ? 1U : 0U;
    line.changes.push_back({change.time_ps, change.line, level});
}

}  // namespace

planner::Result<TraceHead> read_head(const machine::Machine& machine, std::istream& trace,
                                     const std::string& trace_name, std::int64_t resolution_ps) {
    const auto opened = open_trace(trace, trace_name);
    if (!opened) return opened.diagnostics();
    TraceReader& reader = *opened.value();
    auto motors = select_lines(machine, reader, trace_name);
    if (!motors) return motors.diagnostics();
    TraceHead head;
    head.resolution_ps = resolution_ps;
    head.motors = std::move(motors).value();
    for (const MotorLines& motor : head.motors) {
        const machine::Axis& axis = machine.axes[motor.slot];
        head.lines.push_back({motor.step, axis.step_line.inverted, {}, 0});
        head.lines.push_back({motor.direction, axis.direction_line.inverted, {}, 0});
    }
    std::vector<LevelChange> changes;
    bool more = true;
    for (std::size_t count = 0; more && count < kMostChanges; count += changes.size()) {
        changes.clear();
        more = reader.read(changes);
        for (const LevelChange& change : changes)
            take(change, head);
    }
    if (!reader.errors().empty()) return reader.errors();
    head.end_ps = reader.last_time_ps();
    return head;
}

std::vector<CapturedPulse> rises_of(const HeadLine& step) {
    std::vector<CapturedPulse> pulses;
    Level before = Level::unknown;
    for (const LevelChange& change : step.changes) {
        if (before == Level::low && change.level == Level::high)
            pulses.push_back({change.time_ps, 1});
        before = change.level;
    }
    return pulses;
}

std::vector<CapturedPulse> pulses_of(const HeadLine& step, const HeadLine& direction) {
    std::vector<CapturedPulse> pulses = rises_of(step);
    std::size_t i = 0;
    std::int8_t way = 1;
    for (CapturedPulse& pulse : pulses) {
        // At equal times the direction line comes first.
        for (; i < direction.changes.size() && direction.changes[i].time_ps <= pulse.time_ps; ++i)
            if (direction.changes[i].level != Level::unknown)
                way = direction.changes[i].level == Level::high ? 1 : -1;
        pulse.direction = way;
    }
    return pulses;
}

}  // namespace stepper_sim::capture
