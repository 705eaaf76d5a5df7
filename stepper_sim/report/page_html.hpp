/// The pieces page.cpp is put together from, each a section of HTML. Everything that comes from a file goes through html_text().
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/check/report.hpp"
#include "stepper_sim/limits/corner_quality.hpp"
#include "stepper_sim/limits/limits.hpp"
#include "stepper_sim/limits/time_value.hpp"
#include "stepper_sim/picture/record_program.hpp"
#include "stepper_sim/report/before_after.hpp"

namespace stepper_sim::report::page_html {

// page_settings.cpp; `limits` may be null
std::string settings(const check::Report& report, const limits::Limits* limits);

// page_before_after.cpp; empty without `both`
std::string before_after(const BeforeAfter* both);

// page_time.cpp; empty without `value`
std::string time_value(const limits::TimeValue* value);

// page_corners.cpp; empty without `quality`
std::string corners(const limits::CornerQuality* quality, const check::Report& report);

// page_sections.cpp
std::string verdict(const check::Report& report,
                    std::span<const picture::RecordedProgram> programs);
std::string findings(const check::Report& report,
                     std::span<const picture::RecordedProgram> programs);
std::string cautions();
std::string basis(const check::Report& report);

// page_figures.cpp: headings, places for pictures, and every figure as a table
std::string map(std::span<const picture::RecordedProgram> programs);
std::string torque(const check::Report& report, std::span<const picture::RecordedProgram> programs);
std::string rates(const check::Report& report, std::span<const picture::RecordedProgram> programs);
std::string moment(std::span<const picture::RecordedProgram> programs);
std::string resonance(std::span<const picture::RecordedProgram> programs);

/// html_text() with squares as squares: "mm/s^2" reads "mm/s²".
std::string pretty(std::string_view text);
/// A section with its heading and a sentence on how to read it.
std::string section(std::string_view id, std::string_view heading, std::string_view reading,
                    std::string_view body);
/// A table with a caption; cells are HTML. The first row is the head, the first column names its row.
std::string table(std::string_view caption, std::span<const std::vector<std::string>> rows);

}  // namespace stepper_sim::report::page_html
