/// The report as a short Markdown text for pasting into an issue or a forum: verdict, what to change, settings, findings.
#pragma once

#include <string>
#include <string_view>

#include "stepper_sim/check/report.hpp"

namespace stepper_sim::report {

std::string to_markdown(const check::Report& report);

/// Text from a file that can be no markup, no table cell border and no HTML.
std::string markdown_text(std::string_view text);

}  // namespace stepper_sim::report
