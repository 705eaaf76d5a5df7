#include <fmt/core.h>

#include <utility>

#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/page_html.hpp"

namespace stepper_sim::report::page_html {

std::string before_after(const BeforeAfter* both) {
    if (both == nullptr) return {};
    std::vector<std::vector<std::string>> rows{{"", "before", "after"}};
    for (const Difference& d : differences(*both))
        rows.push_back({pretty(d.what), pretty(d.before), pretty(d.after)});
    std::string body = table("What differs", rows);
    for (const auto& [heading, lines] : {std::pair("No longer found", findings_gone(*both)),
                                         std::pair("Found anew", findings_new(*both))}) {
        if (lines.empty()) continue;
        body += fmt::format("<h3>{}</h3>\n<ul>\n", heading);
        for (const std::string& line : lines)
            body += "<li>" + pretty(line) + "</li>\n";
        body += "</ul>\n";
    }
    return section(
        "before-after", "Before and after",
        fmt::format("Before is {}; after is {}, which the rest of this page is about.",
                    html_text(both->before.machine_file), html_text(both->after.machine_file)),
        body);
}

}  // namespace stepper_sim::report::page_html
