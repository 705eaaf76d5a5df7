#include "stepper_sim/report/text.hpp"

#include <fmt/core.h>

#include <filesystem>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/change.hpp"
#include "stepper_sim/report/corners_text.hpp"
#include "stepper_sim/report/layout.hpp"

namespace stepper_sim::report {

namespace {

// ANSI bold with one colour each; the word itself always stands there too.
constexpr std::string_view kPlain = "\033[0m";
std::string_view paint(check::Grade grade) {
    return grade == check::Grade::fault  ? "\033[1;35m"
           : grade == check::Grade::risk ? "\033[1;33m"
                                         : "\033[36m";
}
std::string_view paint(check::Verdict verdict) {
    return verdict == check::Verdict::fault  ? "\033[1;35m"
           : verdict == check::Verdict::thin ? "\033[1;33m"
                                             : "\033[1;36m";
}

std::string painted(std::string_view word, std::string_view colour, bool wanted) {
    return wanted ? fmt::format("{}{}{}", colour, word, kPlain) : std::string(word);
}

std::string count(std::uint64_t number, std::string_view thing) {
    return fmt::format("{} {}{}", number, thing, number == 1 ? "" : "s");
}

std::string change_first_text(const check::Report& report) {
    const check::ChangeFirst& first = report.change_first;
    if (first.cure == check::Cure::not_needed) return {};
    const std::vector<std::string> lines = change_first_lines(report);
    std::string out = "\nChange first\n";
    for (const std::string& line : lines)
        out += "  " + line + '\n';
    if (!lines.empty()) out += "  " + wrapped(first.answers.message, 2, 2);
    return out + "  " + wrapped(change_first_said(report), 2, 2);
}

std::string head(const check::Report& report, bool colour) {
    const std::string verdict(check::to_word(report.verdict));
    std::string out = painted(verdict, paint(report.verdict), colour);
    out += wrapped(fmt::format(": {}", meaning(report)), 7, verdict.size());
    std::string what = report.machine_name;
    for (const std::string& file : report.program.files)
        what += ", " + std::filesystem::path(file).filename().string();
    out += wrapped(planner::printable(what, 400), 2, 0);
    if (report.has_program)
        out +=
            wrapped(fmt::format("{}, {}, {} of motion over {}", count(report.program.lines, "line"),
                                count(report.program.moves, "move"),
                                planner::format_duration(report.program.duration_s),
                                path_text(report.program)),
                    2, 0);
    if (report.worst_case)
        out += wrapped(fmt::format("no program: {} of the worst kind the settings allow",
                                   count(report.program.moves, "move")),
                       2, 0);
    out += change_first_text(report);
    return out + measure_text(report.measure_next);
}

std::string axes_table(const check::Report& report) {
    std::vector<std::vector<std::string>> rows{
        {"axis", "top speed", "reached", "acceleration", "from", "to", "ends at"}};
    for (std::size_t i = 0; i < report.axes.size(); ++i) {
        const check::AxisSummary& axis = report.axes[i];
        rows.push_back(
            {std::string(1, axis.letter), check::words::mm_s(report.motors[i].top_speed_m_s),
             check::words::mm_s(axis.peak_speed_m_s),
             check::words::mm_s2(axis.peak_acceleration_m_s2), check::words::mm(axis.min_m),
             check::words::mm(axis.max_m), check::words::mm(axis.end_m)});
    }
    return table(rows);
}

constexpr std::string_view kMotorsLegend =
    "torque: share of the motor's torque that the moves use, with the high and with the low "
    "torque figure; speed step: likewise of what it can follow at once, with the low one; swing, "
    "ringing: of the nominal machine, how far the rotor swings off its command, 100 % being where "
    "the torque is highest, and how far the tool swings";

std::string motors_table(const check::Report& report) {
    std::vector<std::vector<std::string>> rows{
        {"motor", "steps", "peak rate", "torque", "speed step", "swing", "ringing"}};
    for (const check::MotorSummary& motor : report.motors) {
        const std::string torque = fmt::format("{:.0f} to {:.0f} %", 100.0 * motor.torque_use_high,
                                               100.0 * motor.torque_use_peak);
        rows.push_back({std::string(1, motor.letter), std::to_string(motor.steps),
                        check::words::rate(motor.peak_step_rate_hz), torque,
                        check::words::percent(motor.speed_step_use_peak),
                        motor.screened ? check::words::percent(motor.modal_ratio_peak) : "-",
                        motor.screened ? ringing_text(motor.ringing_peak_m) : "-"});
    }
    return table(rows) + wrapped(kMotorsLegend, 2, 0);
}

std::string ceilings_table(const check::Report& report) {
    std::vector<std::vector<std::string>> rows{
        {"step rate", "driver", "controller", "tick", "pulse limit", "limited by", "top speed"}};
    for (const check::MotorSummary& motor : report.motors)
        rows.push_back({std::string(1, motor.letter), check::words::rate(motor.ceilings.driver_hz),
                        check::words::rate(motor.ceilings.controller_hz),
                        check::words::rate(motor.ceilings.tick_hz),
                        check::words::mm_s(motor.step_rate_speed_m_s),
                        std::string(run::to_word(motor.ceilings.binding())),
                        check::words::mm_s(motor.top_speed_m_s)});
    return table(rows);
}

std::string findings_text(const check::Report& report, bool colour) {
    if (report.findings.empty()) return "Findings: none\n";
    std::string out = "Findings\n";
    for (const check::Finding& finding : report.findings) {
        const std::string grade(check::to_word(finding.grade));
        const std::string start = fmt::format("{:<6}{:<15}", grade, finding.check);
        out += "  " + painted(grade, paint(finding.grade), colour) + start.substr(grade.size());
        out += wrapped(finding.message, 23, 2 + start.size());
        if (const check::Change* change = check::shown_change(finding, report.change_first))
            for (const check::SettingChange& setting : change->settings)
                out += std::string(23, ' ') + "-> " + machine::line_text(setting.to) + "\n";
    }
    return out;
}

std::string basis_text(const check::Report& report) {
    std::string out = "Based on\n";
    for (const check::MotorSummary& motor : report.motors)
        out += "  " + wrapped(fmt::format("motor {}: {}", motor.letter, motor.torque_basis), 4, 2);
    for (const std::string& assumption : report.assumptions)
        out += "  " + wrapped(assumption, 4, 2);
    return out;
}

}  // namespace

std::string_view meaning(const check::Report& report) {
    switch (report.verdict) {
        case check::Verdict::clear:
            if (report.worst_case)
                return "no lost steps expected on the worst short moves, even with the low torque "
                       "figures; a program may ask for more";
            return report.unknown_words
                       ? "no lost steps expected, even with the low torque "
                         "figures, if words it does not know change nothing"
                       : "no lost steps expected, even with the low torque figures";
        case check::Verdict::thin:
            return "it may run well, but the risks below are too near to be sure";
        case check::Verdict::fault:
            break;
    }
    return "it will not work as it is";
}

std::string path_text(const check::ProgramSummary& program) {
    std::string out = planner::format_number(program.path_m, 4) + " m";
    if (program.filament_m != 0.0)
        out += fmt::format(", {} m of filament", planner::format_number(program.filament_m, 4));
    return out;
}

std::string measure_text(const std::optional<check::Measurement>& measurement) {
    if (!measurement) return {};
    return "\nMeasure next\n  " + wrapped(check::sentence_of(*measurement), 2, 2);
}

std::string with_caution(std::string text) {
    return text + '\n' + wrapped(kCaution, 0, 0);
}

std::string with_caution_line(std::string file) {
    return file.starts_with(kCautionLine) ? file : std::string(kCautionLine) + file;
}

std::string to_text(const check::Report& report, bool colour) {
    std::string out = head(report, colour);
    if (report.has_program) out += '\n' + axes_table(report);
    if (report.has_program || report.worst_case) out += '\n' + motors_table(report);
    out += '\n' + ceilings_table(report);
    return with_caution(out + '\n' + findings_text(report, colour) + '\n' + basis_text(report));
}

std::string to_line(const check::Report& report) {
    std::string line(check::to_word(report.verdict));
    if (!report.findings.empty() && report.verdict != check::Verdict::clear)
        line += ": " + report.findings.front().message;
    else if (report.worst_case || report.unknown_words)
        line += fmt::format(": {}", meaning(report));
    return line + '\n';
}

}  // namespace stepper_sim::report
