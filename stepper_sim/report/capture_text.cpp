#include "stepper_sim/report/capture_text.hpp"
#include "stepper_sim/report/finding_json.hpp"
#include "stepper_sim/report/json_text.hpp"

#include <fmt/core.h>

#include <filesystem>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/report.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

double seconds(std::int64_t ps) {
    return static_cast<double>(ps) / capture::kPicoseconds_per_s;
}

std::string time_text(std::int64_t ps) {
    return check::words::interval(seconds(ps));
}

std::string shortest(const capture::Shortest& duration) {
    return duration.seen() ? time_text(duration.value_ps) : "-";
}

/// Without a stretch to take a speed over, the shortest interval gives one.
double peak_rate_hz(const capture::MotorCapture& lines) {
    if (lines.rate_hz.value > 0.0 || !lines.interval.seen()) return lines.rate_hz.value;
    return 1.0 / seconds(std::max<std::int64_t>(lines.interval.value_ps, 1));
}

double shortest_rate_hz(const capture::MotorCapture& lines) {
    if (!lines.interval.seen()) return 0.0;
    return 1.0 / seconds(std::max<std::int64_t>(lines.interval.value_ps, 1));
}

/// "X, Y" of "XY".
std::string letters(std::string_view motors) {
    std::string out;
    for (const char letter : motors)
        out += (out.empty() ? "" : ", ") + std::string(1, letter);
    return out;
}

std::string positions_table(const capture::CaptureReport& report) {
    std::vector<std::vector<std::string>> rows{
        {"motor", "pulses", "net", "net travel", "peak rate", "speed", "acceleration"}};
    for (const capture::CapturedMotor& motor : report.motors) {
        const capture::MotorCapture& lines = motor.lines;
        rows.push_back({std::string(1, motor.letter), std::to_string(lines.pulses()),
                        std::to_string(lines.net()),
                        check::words::mm(static_cast<double>(lines.net()) / motor.steps_per_m),
                        check::words::rate(shortest_rate_hz(lines)),
                        check::words::mm_s(peak_rate_hz(lines) / motor.steps_per_m),
                        check::words::mm_s2(lines.acceleration_hz_s.value / motor.steps_per_m)});
    }
    return table(rows);
}

std::string widths_table(const capture::CaptureReport& report) {
    std::vector<std::vector<std::string>> rows{
        {"least", "high", "low", "interval", "set-up", "hold"}};
    for (const capture::CapturedMotor& motor : report.motors) {
        const capture::MotorCapture& lines = motor.lines;
        rows.push_back({std::string(1, motor.letter), shortest(lines.high), shortest(lines.low),
                        shortest(lines.interval), shortest(lines.setup), shortest(lines.hold)});
    }
    return table(rows);
}

const capture::DurationHistogram& jitter_of(const capture::CapturedMotor& motor) {
    return motor.match ? motor.match->deviation : motor.lines.jitter;
}

std::string jitter_table(const capture::CaptureReport& report) {
    std::vector<std::vector<std::string>> rows{{"jitter", "of", "50 %", "90 %", "99 %", "most"}};
    for (const capture::CapturedMotor& motor : report.motors) {
        const capture::DurationHistogram& jitter = jitter_of(motor);
        std::vector<std::string> row{std::string(1, motor.letter), std::to_string(jitter.count())};
        for (const double share : {0.5, 0.9, 0.99, 1.0})
            row.push_back(jitter.count() > 0 ? time_text(jitter.percentile_ps(share)) : "-");
        rows.push_back(std::move(row));
    }
    return table(rows) +
           wrapped(report.aligned
                       ? "jitter: distance of a pulse from its planned time; a percentile is at "
                         "most 9 % too long"
                       : "jitter: an interval against the mean of its neighbours, where the three "
                         "are alike; a percentile is at most 9 % too long",
                   0, 0);
}

std::string plan_table(const capture::CaptureReport& report) {
    if (!report.aligned) return {};
    std::vector<std::vector<std::string>> rows{
        {"plan", "pulses", "net", "in place", "late", "missing", "extra", "not in trace"}};
    for (const capture::CapturedMotor& motor : report.motors) {
        if (!motor.match) continue;
        const capture::MotorMatch& match = *motor.match;
        rows.push_back(
            {std::string(1, motor.letter), std::to_string(match.planned),
             std::to_string(match.planned_net), std::to_string(match.matched - match.late.count),
             std::to_string(match.late.count), std::to_string(match.missing.count),
             std::to_string(match.extra.count), std::to_string(match.before + match.after)});
    }
    std::string out = '\n' + table(rows);
    std::string drift = "too short to tell";
    if (report.drift_known) {
        const double span_s = report.end_s - report.begin_s;
        drift = fmt::format("{:.1f} ppm, {} over the trace", report.drift * 1e6,
                            check::words::interval(report.drift * span_s));
    }
    return out + wrapped(fmt::format("the trace begins {:.6f} s into the program; its clock "
                                     "against the plan's: {}",
                                     report.program_at_begin_s, drift),
                         0, 0);
}

std::string findings_text(const capture::CaptureReport& report) {
    if (report.findings.empty()) return "\nFindings: none\n";
    std::string out = "\nFindings\n";
    for (const check::Finding& finding : report.findings) {
        const std::string start =
            fmt::format("  {:<6}{:<16}", check::to_word(finding.grade), finding.check);
        out +=
            start + wrapped(planner::printable(finding.message, 2000), start.size(), start.size());
    }
    return out;
}

Json shortest_json(const capture::Shortest& duration) {
    if (!duration.seen()) return nullptr;
    return {{"value_s", seconds(duration.value_ps)},
            {"time_s", seconds(duration.at_ps)},
            {"below_limit", duration.short_ones}};
}

Json differences_json(const capture::Differences& differences) {
    Json places = Json::array();
    for (const capture::Differences::Place& place : differences.places)
        places.push_back({{"time_s", seconds(place.trace_ps)},
                          {"line", place.line != 0 ? Json(place.line) : Json(nullptr)}});
    return {{"count", differences.count}, {"first", places}};
}

Json match_json(const capture::MotorMatch& match) {
    return {{"planned", match.planned},
            {"planned_net", match.planned_net},
            {"matched", match.matched},
            {"missing", differences_json(match.missing)},
            {"extra", differences_json(match.extra)},
            {"late", differences_json(match.late)},
            {"wrong_direction", differences_json(match.wrong_direction)},
            {"lateness_peak_s", seconds(match.latest_ps)},
            {"before_trace", match.before},
            {"before_trace_net", match.before_net},
            {"after_trace", match.after},
            {"lost_at_s", match.lost ? Json(seconds(match.lost->trace_ps)) : Json(nullptr)}};
}

Json motor_json(const capture::CapturedMotor& motor) {
    const capture::MotorCapture& lines = motor.lines;
    const capture::DurationHistogram& jitter = jitter_of(motor);
    Json out{{"step_channel", motor.step_channel},
             {"direction_channel", motor.direction_channel},
             {"pulses", lines.pulses()},
             {"net_steps", lines.net()},
             {"net_position_m", static_cast<double>(lines.net()) / motor.steps_per_m},
             {"peak_rate_hz", shortest_rate_hz(lines)},
             {"peak_speed_m_s", peak_rate_hz(lines) / motor.steps_per_m},
             {"peak_acceleration_m_s2", lines.acceleration_hz_s.value / motor.steps_per_m},
             {"high_min", shortest_json(lines.high)},
             {"low_min", shortest_json(lines.low)},
             {"interval_min", shortest_json(lines.interval)},
             {"setup_min", shortest_json(lines.setup)},
             {"hold_min", shortest_json(lines.hold)},
             {"steps_at_risk", lines.position_at_risk()},
             {"unknown_spans", lines.unknown_spans}};
    out["jitter_s"] = {{"p50", seconds(jitter.percentile_ps(0.5))},
                       {"p90", seconds(jitter.percentile_ps(0.9))},
                       {"p99", seconds(jitter.percentile_ps(0.99))},
                       {"p100", seconds(jitter.longest_ps())},
                       {"count", jitter.count()}};
    out["plan"] = motor.match ? match_json(*motor.match) : Json(nullptr);
    return out;
}

Json scales_json(const capture::SettingScales& scales) {
    const auto of = [&](capture::Scaled what) { return scales.at(static_cast<std::size_t>(what)); };
    return {{"feed", of(capture::Scaled::feed)},
            {"max_speed", of(capture::Scaled::max_speed)},
            {"max_acceleration", of(capture::Scaled::max_acceleration)},
            {"corner", of(capture::Scaled::corner)}};
}

Json channels_json(const capture::OtherChannels& channels) {
    Json motors = Json::object();
    for (const capture::OtherChannels::Motor& motor : channels.motors)
        motors[planner::axis_key(motor.letter)] = {{"step_channel", motor.step},
                                                   {"direction_channel", motor.direction}};
    Json alike = Json::array();
    for (const char letter : channels.alike)
        alike.push_back(report::motor_json(letter));
    return {{"motors", motors}, {"invert", channels.inverts}, {"alike", alike}};
}

Json settings_json(const capture::OtherSettings& settings) {
    Json others = Json::array();
    for (const capture::SettingScales& scales : settings.others)
        others.push_back(scales_json(scales));
    return {{"scales", scales_json(settings.scales)},
            {"steps_in_place", settings.in_place},
            {"within_s", settings.within_s},
            {"others", others}};
}

}  // namespace

std::string capture_text(const capture::CaptureReport& report) {
    std::string verdict(check::to_word(report.verdict));
    if (!report.not_captured.empty()) {
        // A word alone would speak for motors of which nothing was seen.
        std::string seen;
        for (const capture::CapturedMotor& motor : report.motors)
            seen += motor.letter;
        verdict += " for " + letters(seen) + "; not recorded: " + letters(report.not_captured);
    }
    std::string out = wrapped(verdict, 0, 0);
    std::string what =
        report.machine_name + ", " + std::filesystem::path(report.trace_file).filename().string();
    if (report.compared)
        what += ", " + std::filesystem::path(report.program_file).filename().string();
    out += wrapped(planner::printable(what, 400), 2, 0);
    out += wrapped(fmt::format("from {:.6f} s to {:.6f} s, resolved to {}", report.begin_s,
                               report.end_s, check::words::interval(report.resolution_s)),
                   2, 0);
    out += '\n' + positions_table(report) + '\n' + widths_table(report) + '\n' +
           jitter_table(report) + plan_table(report);
    if (report.shared_motors)
        out += wrapped("X and Y: travel and speed along the belt, which each motor moves.", 0, 0);
    return out + findings_text(report);
}

std::string capture_json(const capture::CaptureReport& report) {
    Json out{{"schema", "stepper_sim.capture.1"},
             {"version", kVersion},
             {"verdict", check::to_word(report.verdict)},
             {"machine", {{"name", report.machine_name}, {"file", report.machine_file}}},
             {"trace",
              {{"file", report.trace_file},
               {"begin_s", report.begin_s},
               {"end_s", report.end_s},
               {"resolution_s", report.resolution_s}}},
             {"program", nullptr}};
    if (report.compared)
        out["program"] = {
            {"file", report.program_file},
            {"fits", report.aligned},
            {"time_at_begin_s", report.program_at_begin_s},
            {"drift_ppm", report.drift_known ? Json(report.drift * 1e6) : Json(nullptr)}};
    out["motors"] = Json::object();
    for (const capture::CapturedMotor& motor : report.motors)
        out["motors"][planner::axis_key(motor.letter)] = motor_json(motor);
    out["not_recorded"] = Json::array();
    for (const char letter : report.not_captured)
        out["not_recorded"].push_back(planner::axis_key(letter));
    out["other_channels"] = report.channels ? channels_json(*report.channels) : Json(nullptr);
    out["other_settings"] = report.settings ? settings_json(*report.settings) : Json(nullptr);
    out["findings"] = Json::array();
    for (const check::Finding& finding : report.findings)
        out["findings"].push_back(finding_json(finding));
    return json_text(out);
}

}  // namespace stepper_sim::report
