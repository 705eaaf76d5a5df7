#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/page_html.hpp"

namespace stepper_sim::report::page_html {

namespace {

using Rows = std::vector<std::vector<std::string>>;

std::string folded(std::string_view summary, std::string_view body) {
    return fmt::format("<details><summary>{}</summary>\n{}</details>\n", summary, body);
}

/// The name of the program a row belongs to, where there are several.
std::string whose(std::span<const picture::RecordedProgram> programs, std::size_t index,
                  std::string_view what) {
    if (programs.size() == 1) return std::string(what);
    return fmt::format(
        "{} · {}", what,
        html_text(std::filesystem::path(programs[index].recording.file).filename().string()));
}

/// Where charts go; scripts fill it and say in `-said` what can be seen.
std::string place(std::string_view id) {
    return fmt::format(
        "<div id=\"{0}-charts\" class=\"charts\"></div>\n"
        "<p id=\"{0}-said\" class=\"said\" role=\"status\"></p>\n",
        id);
}

std::string thinned(const picture::PathMap& map) {
    if (map.merged_within_m == 0.0 && map.levels_per_group == 1)
        return fmt::format("All {} moves are shown.", map.moves);
    std::string out = fmt::format("Of {} moves {} pieces are shown", map.moves, map.pieces.size());
    if (map.merged_within_m > 0.0)
        out += fmt::format("; moves are merged where that shifts the path by less than {}",
                           check::words::mm(map.merged_within_m));
    if (map.levels_per_group > 1)
        out += fmt::format("; of every {} heights only the one with the worst moment is whole",
                           map.levels_per_group);
    return out + ". Every piece carries the worst of what was merged into it.";
}

double peak_of(const picture::Envelope& envelope) {
    return envelope.greatest.empty()
               ? 0.0
               : *std::max_element(envelope.greatest.begin(), envelope.greatest.end());
}

}  // namespace

std::string map(std::span<const picture::RecordedProgram> programs) {
    if (programs.empty()) return {};
    std::string body =
        "<form class=\"tools\" id=\"map-tools\">\n"
        "<fieldset><legend>Colour shows</legend>\n"
        "<label><input type=\"radio\" name=\"colour\" value=\"worst\" checked> worst of "
        "both</label>\n"
        "<label><input type=\"radio\" name=\"colour\" value=\"torque\"> torque use</label>\n"
        "<label><input type=\"radio\" name=\"colour\" value=\"ratio\"> swing, "
        "estimated</label>\n"
        "<label><input type=\"radio\" name=\"colour\" value=\"speed\"> speed</label></fieldset>\n"
        "<p class=\"level\"><label for=\"level\">Height</label> <input id=\"level\" type=\"range\" "
        "min=\"0\" max=\"0\" value=\"0\"> <output id=\"level-said\" for=\"level\"></output>\n"
        "<label><input type=\"checkbox\" id=\"all-levels\"> all heights at once</label>\n"
        "<label><input type=\"checkbox\" id=\"travel\" checked> travel moves</label></p></form>\n"
        "<div class=\"map\"><canvas id=\"map-canvas\" tabindex=\"0\" role=\"img\" "
        "aria-label=\"Tool path from above\" aria-describedby=\"map-said\"></canvas>\n"
        "<div id=\"map-marks\"></div></div>\n"
        "<div id=\"map-key\" class=\"key\"></div>\n"
        "<p id=\"map-said\" class=\"said\" role=\"status\"></p>\n"
        "<pre id=\"map-lines\" class=\"lines\" hidden></pre>\n";
    Rows rows{{"Program", "Heights", "Shown"}};
    for (const picture::RecordedProgram& program : programs) {
        const picture::PathMap& path = program.recording.map;
        rows.push_back(
            {html_text(std::filesystem::path(program.recording.file).filename().string()),
             std::to_string(path.levels_m.size()), html_text(thinned(path))});
    }
    body += folded("What the map shows and what was thinned", table("The map", rows));
    return section(
        "map", "Part map",
        "The tool path from above. Choose a height; the numbered marks are findings: press one "
        "to see its line. Press on the path to ask about a move.",
        body);
}

std::string torque(const check::Report& report,
                   std::span<const picture::RecordedProgram> programs) {
    if (programs.empty()) return {};
    Rows rows{
        {"Motor", "Used on the low curve", "On the high curve", "Asked at worst", "At speed"}};
    for (std::size_t m = 0; m < report.motors.size(); ++m) {
        const check::MotorSummary& motor = report.motors[m];
        for (std::size_t p = 0; p < programs.size(); ++p) {
            const picture::MotorRecord& record = programs[p].recording.motors[m];
            rows.push_back({whose(programs, p, std::string(1, motor.letter)),
                            check::words::percent(motor.torque_use_peak),
                            check::words::percent(motor.torque_use_high),
                            check::words::torque(record.worst_asked_Nm),
                            check::words::mm_s(record.worst_speed_m_s)});
        }
    }
    return section(
        "torque", "Torque against speed",
        "The band is what the motor can give, from the low to the high figure; the "
        "squares are what the program asks, stronger where it stays longer; the ring is the "
        "worst point. Squares inside the band may fail.",
        place("torque") + folded("The same as a table", table("Torque by motor", rows)));
}

std::string rates(const check::Report& report, std::span<const picture::RecordedProgram> programs) {
    if (programs.empty()) return {};
    Rows rows{{"Of", "Peak", "Ceiling", "Share"}};
    for (std::size_t p = 0; p < programs.size(); ++p) {
        const picture::Recording& recording = programs[p].recording;
        for (const picture::MotorRecord& motor : recording.motors) {
            const double peak = peak_of(motor.step_rate_hz);
            const double ceiling = std::min(motor.driver_ceiling_hz, motor.controller_ceiling_hz);
            rows.push_back(
                {whose(programs, p, fmt::format("motor {}", motor.letter)),
                 check::words::rate(peak),
                 fmt::format("{} ({})", check::words::rate(ceiling),
                             motor.driver_ceiling_hz < motor.controller_ceiling_hz ? "driver"
                                                                                   : "controller"),
                 check::words::percent(ceiling > 0.0 ? peak / ceiling : 0.0)});
        }
        const double load = peak_of(recording.processor_load);
        rows.push_back({whose(programs, p, "processor"), check::words::percent(load),
                        check::words::percent(recording.processor_share) + " allowed for stepping",
                        check::words::percent(load / recording.processor_share)});
    }
    const std::string late =
        report.controller.late_pulses == 0
            ? "No pulse leaves late."
            : fmt::format("{} pulses leave late, the worst by {}.", report.controller.late_pulses,
                          check::words::interval(report.controller.lateness_peak_s));
    return section(
        "rates", "Step rate and processor load",
        fmt::format("Highest rate in every stretch of time, from the planned speeds; dashed: the "
                    "ceilings. {}",
                    late),
        place("rates") + folded("The same as a table", table("Peaks and ceilings", rows)));
}

std::string moment(std::span<const picture::RecordedProgram> programs) {
    if (programs.empty()) return {};
    Rows rows{{"Moment", "Line", "Shown from", "To",
               "Largest load angle, sine regulator, low torque", "Sine regulator, high torque",
               "Pulses"}};
    const auto peak = [](const std::vector<float>& angles) {
        double most = 0.0;
        for (const float angle : angles)
            most = std::max(most, std::abs(static_cast<double>(angle)));
        const double degrees = most * 57.29577951308232;
        return degrees >= 360.0 ? std::string("slips: beyond 360°")
                                : fmt::format("{:.0f}°", degrees);
    };
    for (std::size_t p = 0; p < programs.size(); ++p)
        for (const picture::MomentRecord& at : programs[p].recording.moments)
            rows.push_back({whose(programs, p, fmt::format("motor {}", at.letter)),
                            std::to_string(at.line), planner::format_duration(at.start_s),
                            planner::format_duration(at.end_s), peak(at.angle_low_rad),
                            peak(at.angle_high_rad), std::to_string(at.rises.size())});
    return section(
        "moment", "Worst moment",
        "What the motor is told and how far its rotor lags, simulated with the pulses "
        "the controller really sends and a good sine regulator; findings try a simple chopper "
        "too and give the worst of all. Past 90° of load angle torque "
        "falls off; at 360° it has slipped. Drag to zoom, down to single pulses.",
        "<p class=\"tools\"><label for=\"moment-choice\">Moment</label> <select "
        "id=\"moment-choice\"></select></p>\n" +
            place("moment") + folded("The same as a table", table("Moments", rows)));
}

std::string resonance(std::span<const picture::RecordedProgram> programs) {
    if (programs.empty()) return {};
    Rows rows{{"Motor", "Own frequency", "Reversals that feed it", "Most frequent reversal"}};
    for (std::size_t p = 0; p < programs.size(); ++p)
        for (const picture::MotorRecord& motor : programs[p].recording.motors) {
            std::uint64_t feeding = 0;
            const picture::ReversalBin* most = nullptr;
            for (const picture::ReversalBin& bin : motor.reversals) {
                if (bin.to_hz > motor.near_from_hz() && bin.from_hz < motor.near_to_hz())
                    feeding += bin.count;
                if (bin.count > 0 && (most == nullptr || bin.count > most->count)) most = &bin;
            }
            rows.push_back(
                {whose(programs, p, std::string(1, motor.letter)),
                 fmt::format("{} to {} Hz", planner::format_number(motor.natural_low_hz, 3),
                             planner::format_number(motor.natural_high_hz, 3)),
                 std::to_string(feeding),
                 most == nullptr ? std::string("none")
                                 : fmt::format("{} Hz, {} times",
                                               planner::format_number(
                                                   std::sqrt(most->from_hz * most->to_hz), 2),
                                               most->count)});
        }
    return section(
        "resonance", "Resonance",
        "The curve says how many times a swing grows when shaken at a frequency; the bars "
        "beneath count how often the program turns round at it. Bars under a peak build up "
        "a swing.",
        place("resonance") + folded("The same as a table", table("Resonance by motor", rows)));
}

}  // namespace stepper_sim::report::page_html
