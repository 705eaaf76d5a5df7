#include "stepper_sim/report/corners_text.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <filesystem>

#include "planner/lookahead/corner.hpp"
#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/layout.hpp"

namespace stepper_sim::report {

namespace {

bool by_step(const limits::CornerQuality& quality) {
    return planner::row_of(quality.rule).of_each_axis;
}

/// "line 467", with the program's number where there are several.
std::string place(const limits::PlacedCorner& corner, const std::vector<std::string>& files) {
    if (corner.corner.line == 0) return "-";
    return files.size() > 1 ? fmt::format("{} of {}", corner.corner.line, corner.program + 1)
                            : std::to_string(corner.corner.line);
}

/// "now", "usual", "too high" or nothing.
std::string note(const limits::CornerQuality& quality, const limits::AxisCorners& axis,
                 std::size_t scale) {
    if (by_step(quality) && axis.too_high(scale))
        return limits::kCornerScales[scale] == 1.0 ? "now, too high" : "too high";
    if (limits::kCornerScales[scale] == 1.0) return "now";
    return by_step(quality) && axis.usual(scale) ? "usual" : "";
}

/// Whether limits were sought, so that rows above them are marked.
bool holding_known(const limits::CornerQuality& quality) {
    return std::any_of(quality.axes.begin(), quality.axes.end(),
                       [](const limits::AxisCorners& axis) { return axis.just_holds.has_value(); });
}

/// "X 30 mm/s to 45 mm/s" for each axis that is shown.
std::string usual_steps(const limits::CornerQuality& quality) {
    std::string out;
    for (const limits::AxisCorners& axis : quality.axes)
        out += fmt::format(
            "{}{} {} to {}{}", out.empty() ? "" : ", ", axis.letter,
            check::words::mm_s(limits::kUsualStepLow * axis.working_speed_m_s),
            check::words::mm_s(limits::kUsualStepHigh * axis.working_speed_m_s),
            axis.with_margin && *axis.with_margin < limits::kUsualStepLow * axis.working_speed_m_s
                ? fmt::format(" (too high here: {} holds with margin)",
                              check::words::mm_s(*axis.with_margin))
                : std::string());
    return out;
}

CornerTable ringing_table(const limits::CornerQuality& quality, const limits::AxisCorners& axis,
                          const std::vector<std::string>& files) {
    CornerTable table{fmt::format("{}: the corner that rings most", axis.letter), {}};
    table.rows.push_back(
        {by_step(quality) ? fmt::format("{} speed step", axis.letter) : "deviation", "ringing",
         "into line", "dwell there", "programs take", "note"});
    for (std::size_t i = 0; i < limits::kCornerScales.size(); ++i) {
        const limits::Corner& corner = axis.most_ringing[i].corner;
        table.rows.push_back({by_step(quality) ? check::words::mm_s(axis.setting(i))
                                               : check::words::mm(axis.setting(i)),
                              ringing_text(corner.ringing_m), place(axis.most_ringing[i], files),
                              planner::format_duration(corner.dwell_s),
                              planner::format_duration(quality.duration_s[i]),
                              note(quality, axis, i)});
    }
    return table;
}

CornerTable dwell_table(const limits::CornerQuality& quality,
                        const std::vector<std::string>& files) {
    CornerTable table{"The corner that takes longest", {}};
    table.rows.push_back({by_step(quality) ? "speed steps" : "deviation", "dwell", "into line",
                          "ringing there", "programs take", "note"});
    for (std::size_t i = 0; i < limits::kCornerScales.size(); ++i) {
        const limits::Corner& corner = quality.longest_dwell[i].corner;
        table.rows.push_back(
            {fmt::format("{} of now", check::words::percent(limits::kCornerScales[i])),
             planner::format_duration(corner.dwell_s), place(quality.longest_dwell[i], files),
             ringing_text(corner.ringing_m), planner::format_duration(quality.duration_s[i]),
             limits::kCornerScales[i] == 1.0 ? "now" : ""});
    }
    return table;
}

}  // namespace

std::string ringing_text(double amplitude_m) {
    constexpr double kSeen_m = 1e-6;  // a micrometre: under the finest step of any shipped machine
    return amplitude_m < kSeen_m ? "< 0.001 mm"
                                 : planner::format_number(1e3 * amplitude_m, 2) + " mm";
}

std::vector<CornerTable> corner_tables(const limits::CornerQuality& quality,
                                       const std::vector<std::string>& files) {
    std::vector<CornerTable> tables;
    for (const limits::AxisCorners& axis : quality.axes)
        tables.push_back(ringing_table(quality, axis, files));
    if (!tables.empty()) tables.push_back(dwell_table(quality, files));
    return tables;
}

std::string corners_reading(const limits::CornerQuality& quality) {
    if (quality.axes.empty()) return "The programs have no corners.";
    std::string out = fmt::format(
        "Ringing: swing of the tool after the corner, with what earlier ones left; dwell: time "
        "lost "
        "by slowing down for it and speeding up again, against running on at the speed reached "
        "before and after. Over {}; {}",
        by_step(quality) ? "the speed steps of all axes together" : "the deviation",
        by_step(quality) && holding_known(quality)
            ? "too high: above what just holds for that axis."
            : "whether a value holds is not said here.");
    if (by_step(quality))
        out += " Usual: 20 to 30 % of the working speed (common practice, no source): " +
               usual_steps(quality) + ".";
    return out;
}

std::string corners_text(const limits::CornerQuality& quality,
                         const std::vector<std::string>& files) {
    std::string out = "\nQuality at corners\n  " + wrapped(corners_reading(quality), 2, 2);
    for (const CornerTable& corners : corner_tables(quality, files))
        out += '\n' + corners.caption + '\n' + table(corners.rows);
    return out;
}

}  // namespace stepper_sim::report
