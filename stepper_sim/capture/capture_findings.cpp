#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "planner/units/units_text.hpp"
#include "stepper_sim/capture/capture.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/controller/ceiling.hpp"

namespace stepper_sim::capture {
namespace {

constexpr double kMostlyWrong = 0.9;  // of the directions: the line is read upside down

double seconds(std::int64_t ps) {
    return static_cast<double>(ps) / kPicoseconds_per_s;
}

std::string at(std::int64_t ps) {
    return fmt::format("{:.6f} s", seconds(ps));
}

std::string counted(std::int64_t number, std::string_view thing) {
    return fmt::format("{} {}{}", number, thing, number == 1 ? "" : "s");
}

void add(CaptureReport& report, check::Finding finding, std::string message, std::int64_t at_ps) {
    finding.time_s = seconds(at_ps);
    finding.message = std::move(message);
    report.findings.push_back(std::move(finding));
}

struct Limit {
    std::string_view name, risk;
    double needed_s = 0.0;
};

void judge_shortest(CaptureReport& report, const machine::Axis& axis, const Shortest& seen,
                    const Limit& limit) {
    if (seen.short_ones == 0) return;
    check::Finding finding = check::words::about("pulse-timing", check::Grade::fault, axis);
    finding.value = seconds(seen.value_ps);
    finding.limit = limit.needed_s;
    finding.unit = "s";
    const std::string often =
        seen.short_ones > 1
            ? fmt::format(" ({} times, first at {})", seen.short_ones, at(seen.first_short_ps))
            : "";
    add(report, std::move(finding),
        fmt::format("motor {}: {} is only {}, driver {} needs {}, at {}{}; {}", axis.letter,
                    limit.name, check::words::interval(seconds(seen.value_ps)), axis.driver.name,
                    check::words::interval(limit.needed_s), at(seen.at_ps), often, limit.risk),
        seen.at_ps);
}

double needed(const std::optional<planner::Time>& time) {
    return time.value_or(planner::Time()).value();
}

void judge_timing(CaptureReport& report, const machine::Axis& axis, const MotorCapture& lines) {
    const std::string swallowed =
        fmt::format("in all {} may be swallowed", counted(lines.swallowed, "step"));
    const std::string wrong = fmt::format(
        "in all {} may go the wrong way: up to {} of position, {}, lost",
        counted(lines.wrong_way, "step"), counted(2 * lines.wrong_way, "step"),
        check::words::mm(2.0 * static_cast<double>(lines.wrong_way) / axis.steps_per_m()));
    const machine::DriverPart& driver = axis.driver;
    judge_shortest(report, axis, lines.high,
                   {"the step line high", swallowed, needed(driver.step_high_min)});
    judge_shortest(report, axis, lines.low,
                   {"the step line low between pulses", swallowed, needed(driver.step_low_min)});
    judge_shortest(report, axis, lines.setup,
                   {"the direction's set-up before a step", wrong, needed(driver.setup_min)});
    judge_shortest(report, axis, lines.hold,
                   {"the direction's hold after a step", wrong, needed(driver.hold_min)});
    const Shortest& interval = lines.interval;
    // Shorter only where high or low time is too: said there.
    if (interval.short_ones == 0 || lines.high.short_ones + lines.low.short_ones > 0) return;
    const double ceiling_hz = controller::driver_ceiling_hz(driver, planner::Time());
    check::Finding finding = check::words::about("step-rate", check::Grade::fault, axis);
    finding.value = 1.0 / seconds(std::max<std::int64_t>(interval.value_ps, 1));
    finding.limit = ceiling_hz;
    finding.unit = "Hz";
    const std::string message = fmt::format(
        "motor {}: the shortest interval between steps is {} ({}), driver {} takes {}, at {}",
        axis.letter, check::words::interval(seconds(interval.value_ps)),
        check::words::rate(finding.value), driver.name, check::words::rate(ceiling_hz),
        at(interval.at_ps));
    add(report, std::move(finding), message, interval.at_ps);
}

void judge_levels(CaptureReport& report, const machine::Axis& axis, const MotorCapture& lines) {
    if (lines.step_known && lines.unknown_spans == 0 && lines.blind_pulses == 0) return;
    check::Finding finding = check::words::about("unknown-level", check::Grade::risk, axis);
    finding.value = static_cast<double>(lines.unknown_spans);
    finding.unit = "1";
    const std::string seen =
        lines.step_known
            ? fmt::format(
                  "a line is unknown (x or z) {}, the step line for {} in all; edges there "
                  "are not counted, and {} had no known direction",
                  lines.unknown_spans == 1 ? "once" : counted(lines.unknown_spans, "time"),
                  check::words::interval(seconds(lines.unknown_ps)),
                  counted(lines.blind_pulses, "step"))
            : "the trace never shows its step line low or high";
    finding.message = fmt::format("motor {}: {}", axis.letter, seen);
    report.findings.push_back(std::move(finding));
}

/// "at 1.5 s (line 12), 2.5 s and 30 more"
std::string places(const Differences& differences) {
    constexpr std::size_t kShown = 3;
    std::string out = "at ";
    const std::size_t shown = std::min(differences.places.size(), kShown);
    for (std::size_t i = 0; i < shown; ++i) {
        const Differences::Place& place = differences.places[i];
        out += (i > 0 ? ", " : "") + at(place.trace_ps);
        if (place.line != 0) out += fmt::format(" (line {})", place.line);
    }
    const auto rest = differences.count - static_cast<std::int64_t>(shown);
    return rest > 0 ? out + fmt::format(" and {} more", rest) : out;
}

void judge_difference(CaptureReport& report, const machine::Axis& axis, std::string_view check,
                      const Differences& differences, const std::string& said) {
    if (differences.count == 0) return;
    check::Finding finding = check::words::about(check, check::Grade::fault, axis);
    finding.value = static_cast<double>(differences.count);
    finding.unit = "1";
    if (!differences.places.empty()) finding.line = differences.places.front().line;
    add(report, std::move(finding),
        fmt::format("motor {}: {}, {}", axis.letter, said, places(differences)),
        differences.places.empty() ? 0 : differences.places.front().trace_ps);
}

void judge_match(CaptureReport& report, const machine::Axis& axis, const MotorMatch& match) {
    const auto few = [&](const Differences& some) {
        return fmt::format("{}, {}", counted(some.count, "step"),
                           check::words::mm(static_cast<double>(some.count) / axis.steps_per_m()));
    };
    if (match.lost) {
        check::Finding finding = check::words::about("plan", check::Grade::fault, axis);
        finding.line = match.lost->line;
        add(report, std::move(finding),
            fmt::format("motor {}: from about {} on the trace does not follow the program; nothing "
                        "is compared after that",
                        axis.letter, at(match.lost->trace_ps)),
            match.lost->trace_ps);
        return;
    }
    judge_difference(report, axis, "missing-pulses", match.missing,
                     "missing against the plan: " + few(match.missing));
    judge_difference(report, axis, "extra-pulses", match.extra,
                     "not in the plan: " + few(match.extra));
    judge_difference(
        report, axis, "late-pulses", match.late,
        fmt::format("{} away from their time and back in place later, the worst {} by {}",
                    counted(match.late.count, "pulse"), match.latest_ps < 0 ? "early" : "late",
                    check::words::interval(std::abs(seconds(match.latest_ps)))));
    const auto wrong = static_cast<double>(match.wrong_direction.count);
    if (wrong > kMostlyWrong * static_cast<double>(match.matched)) {
        judge_difference(report, axis, "polarity", match.wrong_direction,
                         fmt::format("the direction line counts the other way round; if it is "
                                     "wired so, say --invert direction.{}",
                                     planner::axis_key(axis.letter)));
    } else {
        judge_difference(report, axis, "wrong-direction", match.wrong_direction,
                         "against the planned direction: " + few(match.wrong_direction));
    }
}

void judge_span(CaptureReport& report) {
    std::int64_t before = 0, after = 0;
    std::string steps;
    for (const CapturedMotor& motor : report.motors) {
        if (!motor.match || motor.match->lost) continue;
        before += motor.match->before;
        after += motor.match->after;
        if (motor.match->before > 0)
            steps += fmt::format("{}{} {} (net {})", steps.empty() ? "" : ", ", motor.letter,
                                 motor.match->before, motor.match->before_net);
    }
    check::Finding finding;
    finding.grade = check::Grade::risk;
    finding.unit = "1";
    if (before > 0) {
        finding.check = "starts-late";
        finding.value = static_cast<double>(before);
        finding.time_s = report.begin_s;
        finding.message =
            fmt::format("the trace begins {:.6f} s into the program; steps before that: {}",
                        report.program_at_begin_s, steps);
        report.findings.push_back(finding);
    }
    if (after > 0) {
        finding.check = "ends-early";
        finding.value = static_cast<double>(after);
        finding.time_s = report.end_s;
        finding.message =
            fmt::format("the trace ends {} before the program does", counted(after, "step"));
        report.findings.push_back(finding);
    }
}

void judge_whole(CaptureReport& report) {
    std::int64_t pulses = 0;
    bool inverted = false;
    for (const CapturedMotor& motor : report.motors) {
        pulses += motor.lines.pulses();
        inverted = inverted || motor.inverted;
    }
    check::Finding finding;
    if (pulses == 0) {
        finding.check = "no-pulses";
        finding.grade = check::Grade::fault;
        finding.message = "no step line of the trace ever rises: wrong channels?";
        report.findings.push_back(finding);
    } else if (report.compared && !report.aligned && !inverted && !report.channels) {
        finding.check = "plan";
        finding.grade = check::Grade::fault;
        finding.message =
            "the trace fits the program nowhere: another program, other settings or another "
            "controller style than the machine file says";
        report.findings.push_back(finding);
    }
}

}  // namespace

void judge_capture(const machine::Machine& machine, CaptureReport& report) {
    for (CapturedMotor& motor : report.motors) {
        const machine::Axis& axis = machine.axes[motor.slot];
        motor.inverted = motor.lines.looks_inverted();
        if (motor.inverted) {
            check::Finding finding = check::words::about("polarity", check::Grade::fault, axis);
            const double whole =
                static_cast<double>(motor.lines.high_ps) + static_cast<double>(motor.lines.low_ps);
            finding.value = static_cast<double>(motor.lines.high_ps) / whole;
            finding.unit = "1";
            finding.message = fmt::format(
                "motor {}: the step line is active {} of the time, so it is read upside down; say "
                "--invert step.{} (nothing else is judged for this motor)",
                axis.letter, check::words::percent(finding.value), planner::axis_key(axis.letter));
            report.findings.push_back(std::move(finding));
            motor.match.reset();
            continue;
        }
        judge_timing(report, axis, motor.lines);
        judge_levels(report, axis, motor.lines);
        if (motor.match) judge_match(report, axis, *motor.match);
    }
    judge_whole(report);
    judge_explained(machine, report);
    judge_span(report);
    std::stable_sort(
        report.findings.begin(), report.findings.end(),
        [](const check::Finding& a, const check::Finding& b) { return a.grade > b.grade; });
    report.verdict = check::verdict_of(report.findings);
}

}  // namespace stepper_sim::capture
