#include "stepper_sim/report/page.hpp"

#include <fmt/core.h>

#include <array>
#include <charconv>
#include <filesystem>

#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/page_data.hpp"
#include "stepper_sim/report/page_html.hpp"
#include "stepper_sim/report/page_parts.hpp"
#include "stepper_sim/report/palette.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

/// " 'sha256-...'" as a content security policy wants it.
std::string may_run(const page_parts::Part& script) {
    if (script.text.empty()) return {};
    std::vector<unsigned char> bytes;
    for (std::size_t i = 0; i + 1 < script.sha256_hex.size(); i += 2) {
        unsigned char byte = 0;
        std::from_chars(script.sha256_hex.data() + i, script.sha256_hex.data() + i + 2, byte, 16);
        bytes.push_back(byte);
    }
    return fmt::format(" 'sha256-{}'", base64(bytes));
}

std::string head(const check::Report& report) {
    using namespace page_parts;
    std::string title = std::string(check::to_word(report.verdict)) + ": " + report.machine_name;
    for (const std::string& file : report.program.files)
        title += ", " + std::filesystem::path(file).filename().string();
    return fmt::format(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
        "script-src{}{}; "
        "style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<meta name=\"generator\" content=\"stepper_sim {}\">\n<title>{}</title>\n"
        "<link rel=\"icon\" href=\"data:,\">\n{}<style>\n{}{}\n{}</style>\n</head>\n",
        may_run(kChartScript), may_run(kScript), kVersion, html_text(title),
        kChartLicence.text.empty()
            ? std::string()
            : fmt::format("<!-- The charts are drawn by uPlot:\n{}-->\n", kChartLicence.text),
        palette_css(), kChartStyle.text, kStyle.text);
}

struct Entry {
    std::string_view id, name;
};
constexpr std::array kProgramSections{Entry{"verdict", "Verdict"},
                                      Entry{"before-after", "Before and after"},
                                      Entry{"settings", "Settings"},
                                      Entry{"map", "Part map"},
                                      Entry{"torque", "Torque"},
                                      Entry{"rates", "Step rate, load"},
                                      Entry{"moment", "Worst moment"},
                                      Entry{"resonance", "Resonance"},
                                      Entry{"time", "Time"},
                                      Entry{"corners", "Corners"},
                                      Entry{"findings", "Findings"},
                                      Entry{"cautions", "Cautions"},
                                      Entry{"basis", "Assumptions, sources"}};

bool needs_program(std::string_view id) {
    return id == "map" || id == "torque" || id == "rates" || id == "moment" || id == "resonance";
}

/// Sections that only some pages have.
struct AskedFor {
    bool both, time, corners;
};

std::string contents(std::span<const picture::RecordedProgram> programs, const AskedFor& with) {
    std::string out = "<nav aria-label=\"Sections\"><ul>\n";
    for (const Entry& entry : kProgramSections)
        if (entry.id == "time"           ? with.time
            : entry.id == "corners"      ? with.corners
            : entry.id == "before-after" ? with.both
                                         : !programs.empty() || !needs_program(entry.id))
            out += fmt::format("<li><a href=\"#{}\">{}</a></li>\n", entry.id, entry.name);
    out += "</ul>\n";
    if (programs.size() > 1) {
        out += "<p><label for=\"program\">Program</label> <select id=\"program\">\n";
        for (std::size_t i = 0; i < programs.size(); ++i)
            out += fmt::format(
                "<option value=\"{}\">{}</option>\n", i,
                html_text(std::filesystem::path(programs[i].recording.file).filename().string()));
        out += "</select></p>\n";
    }
    return out + "</nav>\n";
}

std::string script(const page_parts::Part& part) {
    return part.text.empty() ? std::string() : fmt::format("<script>{}</script>\n", part.text);
}

}  // namespace

std::string to_page(const check::Report& report, std::span<const picture::RecordedProgram> programs,
                    const limits::Limits* limits, const limits::TimeValue* time,
                    const limits::CornerQuality* corners, const BeforeAfter* both) {
    namespace html = page_html;
    std::string page = head(report);
    page += fmt::format(
        "<body>\n<a class=\"skip\" href=\"#verdict\">Skip to the "
        "verdict</a>\n<header><p>stepper_sim "
        "<span>check report, version {}</span></p></header>\n",
        kVersion);
    if (!programs.empty())
        page +=
            "<noscript><p class=\"noscript\">The maps and charts of this page are drawn by its own "
            "scripts, which are blocked here; the figures are in the tables under \"The same as a "
            "table\".</p></noscript>\n";
    page += contents(programs, {both != nullptr, time != nullptr, corners != nullptr}) +
            "<main>\n" + html::verdict(report, programs) + html::before_after(both) +
            html::settings(report, limits) + html::map(programs) + html::torque(report, programs) +
            html::rates(report, programs) + html::moment(programs) + html::resonance(programs) +
            html::time_value(time) + html::corners(corners, report) +
            html::findings(report, programs) + html::cautions() + html::basis(report) + "</main>\n";
    page += R"(<script type="application/json" id="data">)" + page_data(programs) + "</script>\n";
    page += script(page_parts::kChartScript) + script(page_parts::kScript);
    return page + "</body>\n</html>\n";
}

}  // namespace stepper_sim::report
