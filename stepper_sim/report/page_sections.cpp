#include <fmt/core.h>

#include <algorithm>
#include <filesystem>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/change.hpp"
#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/page_html.hpp"
#include "stepper_sim/report/text.hpp"

namespace stepper_sim::report::page_html {

namespace {

/// One shape for each word, so that nothing rests on colour.
std::string_view mark(check::Verdict verdict) {
    switch (verdict) {
        case check::Verdict::clear:
            return R"(<svg class="mark" viewBox="0 0 24 24" aria-hidden="true"><circle cx="12" cy="12" r="11"/><path class="cut" d="M6.5 12.5l3.7 3.7 7.3-8"/></svg>)";
        case check::Verdict::thin:
            return R"(<svg class="mark" viewBox="0 0 24 24" aria-hidden="true"><path d="M12 1.5 23.5 22H.5z"/><path class="cut" d="M12 9v6M12 18v1.2"/></svg>)";
        case check::Verdict::fault:
            break;
    }
    return R"(<svg class="mark" viewBox="0 0 24 24" aria-hidden="true"><path d="M7.5 1h9L23 7.5v9L16.5 23h-9L1 16.500v-9z"/><path class="cut" d="M8 8l8 8M16 8l-8 8"/></svg>)";
}

std::string headline(const check::Report& report) {
    std::string sentence(meaning(report));
    sentence.front() = static_cast<char>(sentence.front() - 'a' + 'A');
    return sentence;
}

std::string fact(std::string_view name, std::string_view value, std::string_view more) {
    return fmt::format("<div><dt>{}</dt><dd>{}<small>{}</small></dd></div>\n", name, value, more);
}

std::string where(const check::Finding& finding) {
    if (finding.line == 0 && !finding.time_s) return fact("Where", "everywhere", "settings alone");
    std::string more;
    if (finding.time_s) more = planner::format_duration(*finding.time_s) + " into the program";
    if (finding.position_m && finding.motor != 0)
        more += fmt::format(", at {} {}", finding.motor, check::words::mm(*finding.position_m));
    // The worst moves that the settings allow stand in no file.
    const std::string line =
        finding.line == 0 ? std::string("the worst moves") : fmt::format("line {}", finding.line);
    return fact("Where", line, html_text(more));
}

std::string change_fact(const check::Report& report) {
    const check::ChangeFirst& first = report.change_first;
    const auto shown = [&](char axis, machine::SettingKey key) {
        const std::string name = setting_name(machine::key_text(key));
        return axis != 0 ? fmt::format("{} {}", axis, name) : name;
    };
    const auto& settings = first.change.settings;
    if (settings.empty() && first.cure == check::Cure::not_checked && first.answers.lower)
        return fact("Change first", "lower " + shown(first.answers.motor, *first.answers.lower),
                    pretty(change_first_said(report)));
    if (settings.empty())
        return fact("Change first", "see the findings", pretty(change_first_said(report)));
    const auto& [to, now] = settings.front();
    std::string more = "now " + machine::value_text({to.axis, to.key, now});
    if (settings.size() > 1) more += fmt::format(", and {} more beside it", settings.size() - 1);
    return fact("Change first",
                pretty(fmt::format("{} to {}", shown(to.axis, to.key), machine::value_text(to))),
                pretty(more + "; " + change_first_said(report)));
}

std::string measure_fact(const check::Report& report) {
    if (!report.measure_next) return {};
    return fact("Measure next", pretty(report.measure_next->path),
                pretty(check::sentence_of(*report.measure_next)));
}

double largest_use(const check::MotorSummary& motor) {
    return std::max({motor.torque_use_peak, motor.speed_step_use_peak,
                     motor.screened ? motor.modal_ratio_peak : 0.0});
}

/// The motor that comes nearest to a limit, for a verdict with nothing to change.
std::string nearest_fact(const check::Report& report) {
    if (!report.has_program || report.motors.empty())
        return fact("Checked", "settings only", "give a program to see torque, swing and pulses");
    const auto most = std::max_element(
        report.motors.begin(), report.motors.end(),
        [](const auto& a, const auto& b) { return largest_use(a) < largest_use(b); });
    return fact(
        "Nearest to its limit", fmt::format("motor {}", most->letter),
        fmt::format("{} of the torque, {} of the speed step it can follow{}",
                    check::words::percent(most->torque_use_peak),
                    check::words::percent(most->speed_step_use_peak),
                    most->screened
                        ? fmt::format(", swing {}", check::words::percent(most->modal_ratio_peak))
                        : std::string()));
}

std::string facts(const check::Report& report) {
    if (report.change_first.cure == check::Cure::not_needed)
        return "<dl class=\"facts\">" + nearest_fact(report) + "</dl>\n";
    const check::Finding* finding = &report.change_first.answers;
    std::string out = "<dl class=\"facts\">\n";
    out += finding->motor != 0
               ? fact("Which axis", std::string(1, finding->motor),
                      html_text(setting_name(finding->check)))
               : fact("Which check", html_text(setting_name(finding->check)), "not about one axis");
    out += where(*finding) + change_fact(report) + measure_fact(report) + "</dl>\n";
    out += fmt::format("<p class=\"why\">{}</p>\n", pretty(finding->message));
    std::string lines;
    for (const check::SettingChange& setting : report.change_first.change.settings)
        lines += (lines.empty() ? "" : "\n") + machine::line_text(setting.to);
    if (!lines.empty())
        out += fmt::format("<pre class=\"change\"><code>{}</code></pre>\n", html_text(lines));
    return out;
}

std::string what(const check::Report& report) {
    std::string out = html_text(report.machine_name);
    for (const std::string& file : report.program.files)
        out += " · " + html_text(std::filesystem::path(file).filename().string());
    if (report.has_program)
        out += fmt::format(
            " · {} move{}, {} over {}", report.program.moves, report.program.moves == 1 ? "" : "s",
            planner::format_duration(report.program.duration_s), path_text(report.program));
    return out;
}

std::string grade_cell(check::Grade grade) {
    const std::string_view word = check::to_word(grade);
    return fmt::format("<span class=\"grade {0}\">{0}</span>", word);
}

/// The program's own lines around a finding.
std::string lines_of(const picture::RecordedProgram& program, std::uint64_t line) {
    std::string out;
    const auto& lines = program.recording.lines;
    for (auto it = lines.lower_bound(line > 2 ? line - 2 : 1);
         it != lines.end() && it->first <= line + 2; ++it)
        out +=
            fmt::format("<span{}><i>{}</i> {}</span>\n", it->first == line ? " class=\"here\"" : "",
                        it->first, html_text(it->second));
    return out.empty() ? out : "<pre class=\"lines\">" + out + "</pre>";
}

std::string place_cell(const check::Finding& finding, const picture::RecordedProgram* program,
                       std::size_t program_index, std::size_t index) {
    if (finding.line == 0) return "settings";
    std::string out = fmt::format("line {}", finding.line);
    if (finding.time_s) out += "<br>" + html_text(planner::format_duration(*finding.time_s));
    if (program != nullptr && index < program->recording.places.size() &&
        program->recording.places[index].known)
        out += fmt::format(
            "<br><button type=\"button\" class=\"go\" data-program=\"{}\" data-finding=\"{}\">show "
            "on "
            "map</button>",
            program_index, index);
    return out;
}

std::string findings_table(std::string_view caption, const check::Findings& findings,
                           const check::ChangeFirst& first, const picture::RecordedProgram* program,
                           std::size_t program_index) {
    if (findings.empty()) return "<p>None.</p>\n";
    std::vector<std::vector<std::string>> rows{
        {"Grade", "Check", "Where", "What, and the program's lines"}};
    for (std::size_t i = 0; i < findings.size(); ++i) {
        const check::Finding& finding = findings[i];
        std::string told = fmt::format("<p>{}</p>", pretty(finding.message));
        if (const check::Change* change = check::shown_change(finding, first))
            told += "<p class=\"to\">change <code>" + html_text(check::words::lines(*change)) +
                    "</code></p>";
        if (program != nullptr && finding.line != 0) told += lines_of(*program, finding.line);
        rows.push_back({grade_cell(finding.grade), html_text(finding.check),
                        place_cell(finding, program, program_index, i), told});
    }
    return table(caption, rows);
}

}  // namespace

std::string pretty(std::string_view text) {
    std::string out = html_text(text);
    for (std::size_t at = 0; (at = out.find("^2", at)) != std::string::npos;)
        out.replace(at, 2, "²");
    return out;
}

std::string section(std::string_view id, std::string_view heading, std::string_view reading,
                    std::string_view body) {
    return fmt::format(
        "<section id=\"{0}\" aria-labelledby=\"{0}-head\">\n<h2 id=\"{0}-head\">{1}</h2>\n{2}{3}"
        "</section>\n",
        id, heading,
        reading.empty() ? std::string() : fmt::format("<p class=\"reading\">{}</p>\n", reading),
        body);
}

std::string table(std::string_view caption, std::span<const std::vector<std::string>> rows) {
    std::string out = fmt::format(
        "<div class=\"scroll\" role=\"group\" aria-label=\"{0}\" tabindex=\"0\"><table>"
        "<caption>{0}</caption>\n<thead><tr>",
        caption);
    for (const std::string& cell : rows.front())
        out += "<th scope=\"col\">" + cell + "</th>";
    out += "</tr></thead>\n<tbody>\n";
    for (const auto& row : rows.subspan(1)) {
        out += "<tr><th scope=\"row\">" + row.front() + "</th>";
        for (std::size_t i = 1; i < row.size(); ++i)
            out += fmt::format("<td data-of=\"{}\">{}</td>", rows.front()[i], row[i]);
        out += "</tr>\n";
    }
    return out + "</tbody></table></div>\n";
}

std::string verdict(const check::Report& report,
                    std::span<const picture::RecordedProgram> programs) {
    const std::string_view word = check::to_word(report.verdict);
    std::string sketch;
    if (!programs.empty())
        sketch =
            "<figure class=\"sketch\" hidden><canvas id=\"sketch\" role=\"img\" "
            "aria-label=\"Where on the part, seen from above\"></canvas><figcaption "
            "id=\"sketch-said\"></figcaption></figure>\n";
    return fmt::format(
        "<section id=\"verdict\" class=\"verdict {0}\" aria-labelledby=\"verdict-head\">\n<div>\n"
        "<p class=\"word\">{1}<span>{0}</span></p>\n<h1 id=\"verdict-head\">{2}</h1>\n"
        "<p class=\"what\">{3}</p>\n{4}</div>\n{5}</section>\n",
        word, mark(report.verdict), headline(report), what(report), facts(report), sketch);
}

std::string findings(const check::Report& report,
                     std::span<const picture::RecordedProgram> programs) {
    std::string body;
    if (programs.empty())
        body = findings_table("Findings", report.findings, report.change_first, nullptr, 0);
    else if (programs.size() == 1)
        body = findings_table("Findings", programs[0].findings, report.change_first,
                              programs.data(), 0);
    else
        for (std::size_t i = 0; i < programs.size(); ++i) {
            const std::string name =
                html_text(std::filesystem::path(programs[i].recording.file).filename().string());
            body += "<h3>" + name + "</h3>\n" +
                    findings_table("Findings of " + name, programs[i].findings, report.change_first,
                                   &programs[i], i);
        }
    return section("findings", "Findings",
                   "Worst first: a fault fails even with the high torque figures, a risk only with "
                   "the low ones.",
                   body);
}

std::string cautions() {
    return section("cautions", "Cautions", "", fmt::format("<p>{}</p>\n", html_text(kCaution)));
}

std::string basis(const check::Report& report) {
    std::string body = "<ul>\n";
    for (const std::string& assumption : report.assumptions)
        body += "<li>" + html_text(assumption) + "</li>\n";
    body += "</ul>\n";
    std::vector<std::vector<std::string>> torque{{"Motor", "What its torque curve rests on"}};
    for (const check::MotorSummary& motor : report.motors)
        torque.push_back({std::string(1, motor.letter), html_text(motor.torque_basis)});
    std::vector<std::vector<std::string>> parts{{"Part", "Kind", "Source", "How known"}};
    for (const check::PartUse& part : report.parts)
        parts.push_back({html_text(part.name), html_text(part.kind),
                         part.source.empty() ? "none stated" : html_text(part.source),
                         std::string(machine::to_word(part.known))});
    body += table("Torque curves", torque) + table("Parts and their sources", parts);
    return section("basis", "Assumptions and sources", "", body);
}

}  // namespace stepper_sim::report::page_html
