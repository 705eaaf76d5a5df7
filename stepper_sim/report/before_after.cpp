#include "stepper_sim/report/before_after.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <set>

#include "planner/units/diagnostic.hpp"
#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/json.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/markdown.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

using check::MotorSummary;
using check::Report;
using check::SettingsSummary;

constexpr std::size_t kNameColumns = 28;
constexpr int kDigits = 3;  // changes below are noise

/// One row of settings or figures of a letter.
template <class Summary>
struct Figure {
    std::string_view name;
    std::string (*shown)(const Summary&);
};

std::string number(double value) {
    return planner::format_number(value, kDigits);
}

constexpr Figure<SettingsSummary> kSettings[] = {
    {"max_speed", [](const SettingsSummary& s) { return check::words::mm_s(s.max_speed_m_s); }},
    {"max_acceleration",
     [](const SettingsSummary& s) { return check::words::mm_s2(s.max_acceleration_m_s2); }},
    {"speed_step", [](const SettingsSummary& s) { return check::words::mm_s(s.speed_step_m_s); }},
    {"steps_per_mm", [](const SettingsSummary& s) { return number(s.steps_per_mm); }},
    {"microsteps", [](const SettingsSummary& s) { return std::to_string(s.microsteps); }},
    {"current", [](const SettingsSummary& s) { return number(s.current_rms_A) + " A RMS"; }}};

std::string screened(const MotorSummary& m, const std::string& text) {
    return m.screened ? text : "-";
}

constexpr Figure<MotorSummary> kFigures[] = {
    {"torque used", [](const MotorSummary& m) { return check::words::percent(m.torque_use_peak); }},
    {"speed step used",
     [](const MotorSummary& m) { return check::words::percent(m.speed_step_use_peak); }},
    {"peak step rate",
     [](const MotorSummary& m) { return check::words::rate(m.peak_step_rate_hz); }},
    {"swing",
     [](const MotorSummary& m) { return screened(m, check::words::percent(m.modal_ratio_peak)); }},
    {"ringing",
     [](const MotorSummary& m) {
         return screened(m, planner::format_number(1e3 * m.ringing_peak_m, 2) + " mm");
     }},
    {"speed that step rates allow",
     [](const MotorSummary& m) { return check::words::mm_s(m.step_rate_speed_m_s); }}};

template <class Summary>
const Summary* of_letter(const std::vector<Summary>& all, char letter) {
    const auto found = std::ranges::find(all, letter, &Summary::letter);
    return found == all.end() ? nullptr : &*found;
}

std::vector<char> letters_of(const BeforeAfter& both) {
    std::vector<char> letters;
    for (const Report* report : {&both.before, &both.after})
        for (const SettingsSummary& axis : report->settings)
            if (std::ranges::find(letters, axis.letter) == letters.end())
                letters.push_back(axis.letter);
    return letters;
}

template <class Summary>
void add_figures(const BeforeAfter& both, std::vector<Summary> Report::*of, char letter,
                 std::span<const Figure<Summary>> figures, std::vector<Difference>& out) {
    const Summary* before = of_letter(both.before.*of, letter);
    const Summary* after = of_letter(both.after.*of, letter);
    for (const Figure<Summary>& figure : figures) {
        const std::string was = before != nullptr ? figure.shown(*before) : "-";
        const std::string is = after != nullptr ? figure.shown(*after) : "-";
        if (was != is) out.push_back({fmt::format("{} {}", letter, figure.name), was, is});
    }
}

std::string time_of(const Report& report) {
    return report.has_program && !report.worst_case
               ? planner::format_duration(report.program.duration_s)
               : "-";
}

std::string said(const check::Finding& finding) {
    return fmt::format("{}: {}", check::to_word(finding.grade), finding.message);
}

/// Findings of `of` that `other` has not, neither of this check at this motor nor at this grade.
std::vector<std::string> only_in(const Report& of, const Report& other) {
    std::vector<std::string> out;
    for (const check::Finding& finding : of.findings) {
        const bool there = std::ranges::any_of(other.findings, [&](const check::Finding& f) {
            return f.check == finding.check && f.motor == finding.motor && f.grade == finding.grade;
        });
        if (!there) out.push_back(said(finding));
    }
    return out;
}

std::string list_text(std::string_view heading, const std::vector<std::string>& lines) {
    if (lines.empty()) return {};
    std::string out = fmt::format("\n{}\n", heading);
    for (const std::string& line : lines)
        out += "  " + wrapped(line, 4, 2);
    return out;
}

}  // namespace

std::vector<Difference> differences(const BeforeAfter& both) {
    std::vector<Difference> out{{"verdict", std::string(check::to_word(both.before.verdict)),
                                 std::string(check::to_word(both.after.verdict))}};
    if (time_of(both.before) != "-")
        out.push_back({"time", time_of(both.before), time_of(both.after)});
    if (both.before.controller.name != both.after.controller.name)
        out.push_back({"controller", both.before.controller.name, both.after.controller.name});
    const std::string load = check::words::percent(both.before.controller.load_peak),
                      load_after = check::words::percent(both.after.controller.load_peak);
    if (load != load_after) out.push_back({"processor load", load, load_after});
    for (const char letter : letters_of(both)) {
        add_figures<SettingsSummary>(both, &Report::settings, letter, kSettings, out);
        add_figures<MotorSummary>(both, &Report::motors, letter, kFigures, out);
    }
    return out;
}

std::vector<std::string> findings_gone(const BeforeAfter& both) {
    return only_in(both.before, both.after);
}

std::vector<std::string> findings_new(const BeforeAfter& both) {
    return only_in(both.after, both.before);
}

std::string before_after_text(const BeforeAfter& both) {
    std::vector<std::vector<std::string>> rows{{"", "before", "after"}};
    for (const Difference& d : differences(both))
        rows.push_back({planner::printable(d.what, kNameColumns), planner::printable(d.before, 20),
                        planner::printable(d.after, 20)});
    std::string out =
        "Before: " + wrapped(planner::printable(both.before.machine_file, 400), 8, 8) +
        "After:  " + wrapped(planner::printable(both.after.machine_file, 400), 8, 8) + "\n" +
        table(rows) + "torque used: of the low curve; what is the same is left out\n";
    out += list_text("No longer found", findings_gone(both));
    out += list_text("Found anew", findings_new(both));
    return out;
}

std::string before_after_markdown(const BeforeAfter& both) {
    std::string out = "\n| | before | after |\n| --- | --- | --- |\n";
    for (const Difference& d : differences(both))
        out += fmt::format("| {} | {} | {} |\n", markdown_text(d.what), markdown_text(d.before),
                           markdown_text(d.after));
    for (const auto& [heading, lines] : {std::pair("No longer found:", findings_gone(both)),
                                         std::pair("Found anew:", findings_new(both))}) {
        if (!lines.empty()) out += fmt::format("\n{}\n\n", heading);
        for (const std::string& line : lines)
            out += "- " + markdown_text(line) + "\n";
    }
    return out;
}

std::string before_after_json(const BeforeAfter& both) {
    Json rows = Json::array();
    for (const Difference& d : differences(both))
        rows.push_back({{"what", d.what}, {"before", d.before}, {"after", d.after}});
    return json_text({{"schema", "stepper_sim.before_after.1"},
                      {"version", kVersion},
                      {"differences", rows},
                      {"findings_gone", findings_gone(both)},
                      {"findings_new", findings_new(both)},
                      {"before", Json::parse(to_json(both.before))},
                      {"after", Json::parse(to_json(both.after))}});
}

}  // namespace stepper_sim::report
