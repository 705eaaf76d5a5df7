#include "stepper_sim/report/markdown.hpp"

#include <fmt/core.h>

#include <filesystem>

#include "planner/units/diagnostic.hpp"
#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/change.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

std::string row(std::initializer_list<std::string> cells) {
    std::string out = "|";
    for (const std::string& cell : cells)
        out += " " + cell + " |";
    return out + "\n";
}

std::string what(const check::Report& report) {
    std::string out = markdown_text(report.machine_name);
    for (const std::string& file : report.program.files)
        out += ", " + markdown_text(std::filesystem::path(file).filename().string());
    if (report.has_program)
        out += fmt::format(": {} moves, {} over {}", report.program.moves,
                           planner::format_duration(report.program.duration_s),
                           path_text(report.program));
    return out + "\n";
}

std::string settings(const check::Report& report) {
    std::string out =
        "\n" + row({"axis", "top speed", "acceleration", "speed step", "torque used", "swing"}) +
        row({"---", "---", "---", "---", "---", "---"});
    for (std::size_t i = 0; i < report.settings.size(); ++i) {
        const check::SettingsSummary& now = report.settings[i];
        const check::MotorSummary& motor = report.motors[i];
        out += row({std::string(1, now.letter), check::words::mm_s(now.max_speed_m_s),
                    check::words::mm_s2(now.max_acceleration_m_s2),
                    check::words::mm_s(now.speed_step_m_s),
                    report.has_program ? check::words::percent(motor.torque_use_peak) : "-",
                    motor.screened ? check::words::percent(motor.modal_ratio_peak) : "-"});
    }
    return out;
}

/// The lines of the change, with what is set now; the sentence that follows is the caller's.
std::string change_first(const check::Report& report) {
    const std::vector<std::string> lines = change_first_lines(report);
    if (lines.empty()) return "\n";
    const auto& settings = report.change_first.change.settings;
    std::string out = "\nChange first:\n\n";
    for (std::size_t i = 0; i < lines.size(); ++i) {
        out += "    " + lines[i];
        if (i < settings.size())
            out += "   # now " +
                   machine::value_text({settings[i].to.axis, settings[i].to.key, settings[i].now});
        out += "\n";
    }
    return out + "\n";
}

}  // namespace

std::string markdown_text(std::string_view text) {
    std::string out;
    for (const char c : planner::printable(text, 2000)) {
        if (c == '<')
            out += "&lt;";
        else if (c == '&')
            out += "&amp;";
        else {
            if (std::string_view("\\`*_[]>|#~!").find(c) != std::string_view::npos) out += '\\';
            out += c;
        }
    }
    return out;
}

std::string to_markdown(const check::Report& report) {
    std::string out = fmt::format("## {}: {}\n\n{}", check::to_word(report.verdict),
                                  meaning(report), what(report));
    if (const std::string said = change_first_said(report); !said.empty())
        out += change_first(report) + markdown_text(said) + "\n";
    out += settings(report);
    out += report.findings.empty() ? "\nNo findings.\n" : "\n";
    for (const check::Finding& finding : report.findings)
        out += fmt::format("- **{}** {}: {}\n", check::to_word(finding.grade),
                           markdown_text(finding.check), markdown_text(finding.message));
    return out + fmt::format("\nstepper\\_sim {}. {}\n", kVersion, kCaution);
}

}  // namespace stepper_sim::report
