/// The page's style, scripts and chart library as text, embedded by the build (embed.cmake); without the chart library the page has
/// tables only. Hashes are SHA-256, for the page's own rule on which scripts may run.
#pragma once

#include <string_view>

namespace stepper_sim::report::page_parts {

struct Part {
    std::string_view text;
    std::string_view sha256_hex;
};

extern const Part kStyle;
extern const Part kScript;
extern const Part kChartStyle;  // empty without the chart library, as are the next two
extern const Part kChartScript;
extern const Part kChartLicence;

}  // namespace stepper_sim::report::page_parts
