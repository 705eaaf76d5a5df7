/// The report as one HTML page that needs nothing else: no network, no other file. The text of every section is in the page itself,
/// so that it reads without scripts too; pictures are drawn by the scripts in report/page from the data block of page_data.hpp.
/// Same input, same bytes.
#pragma once

#include <span>
#include <string>

#include "stepper_sim/check/report.hpp"
#include "stepper_sim/limits/corner_quality.hpp"
#include "stepper_sim/limits/limits.hpp"
#include "stepper_sim/limits/time_value.hpp"
#include "stepper_sim/picture/record_program.hpp"
#include "stepper_sim/report/before_after.hpp"

namespace stepper_sim::report {

/// `programs` belong to report.program.files, in their order; none: settings only. `limits`: what just holds and what holds with
/// margin, where they were looked for; `time`: what they are worth; `corners`:
/// what the corner setting does; `both`: where another machine stands beside, whose `after` is this report.
std::string to_page(const check::Report& report, std::span<const picture::RecordedProgram> programs,
                    const limits::Limits* limits = nullptr, const limits::TimeValue* time = nullptr,
                    const limits::CornerQuality* corners = nullptr,
                    const BeforeAfter* both = nullptr);

}  // namespace stepper_sim::report
