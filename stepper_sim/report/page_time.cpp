#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/change.hpp"
#include "stepper_sim/report/page_html.hpp"

namespace stepper_sim::report::page_html {

namespace {

using Rows = std::vector<std::vector<std::string>>;

/// A duration over a bar as long as its share of the longest.
std::string timed(double duration_s, double longest_s) {
    return fmt::format(R"({}<span class="share" style="inline-size:{:.0f}%"></span>)",
                       planner::format_duration(duration_s), 100.0 * duration_s / longest_s);
}

Rows grid_rows(const limits::TimeValue& value) {
    double longest_s = 0.0;
    for (const auto& row : value.grid_s)
        longest_s = std::max(longest_s, *std::max_element(row.begin(), row.end()));
    Rows rows{{"Acceleration"}};
    for (const double scale : limits::kTimeScales)
        rows[0].push_back(fmt::format("{} of the speeds", check::words::percent(scale)));
    for (std::size_t a = 0; a < limits::kTimeScales.size(); ++a) {
        rows.push_back({check::words::percent(limits::kTimeScales[a])});
        for (const double duration_s : value.grid_s[a])
            rows.back().push_back(timed(duration_s, longest_s));
    }
    return rows;
}

Rows alone_rows(const limits::TimeValue& value) {
    double longest_s = 0.0;
    for (const limits::SettingTimes& times : value.alone)
        longest_s = std::max(longest_s,
                             *std::max_element(times.duration_s.begin(), times.duration_s.end()));
    Rows rows{{"Axis", "Setting"}};
    for (const double scale : limits::kTimeScales)
        rows[0].push_back(fmt::format("{} of now", check::words::percent(scale)));
    for (const limits::SettingTimes& times : value.alone) {
        if (times.spread_s() < limits::kToldShare * value.now_s) continue;
        rows.push_back(
            {std::string(1, times.letter), setting_name(machine::key_text(times.setting))});
        for (const double duration_s : times.duration_s)
            rows.back().push_back(timed(duration_s, longest_s));
    }
    return rows;
}

Rows worth_rows(const limits::TimeValue& value) {
    Rows rows{{"Axis", "Setting", "Now", "With margin", "Time", "Against now"}};
    for (const limits::SettingWorth& worth : value.worths) {
        const auto in_words = worth.setting == machine::SettingKey::max_acceleration
                                  ? check::words::mm_s2
                                  : check::words::mm_s;
        const double saved_s = value.now_s - worth.duration_s;
        rows.push_back({std::string(1, worth.letter),
                        setting_name(machine::key_text(worth.setting)), pretty(in_words(worth.now)),
                        pretty(in_words(worth.wanted)), planner::format_duration(worth.duration_s),
                        fmt::format("{} {}", planner::format_duration(std::fabs(saved_s)),
                                    saved_s >= 0.0 ? "less" : "more")});
    }
    return rows;
}

}  // namespace

std::string time_value(const limits::TimeValue* value) {
    if (value == nullptr) return {};
    const std::string reading = fmt::format(
        "The programs take {} now and {} with all values with margin. Past {} of the present "
        "speeds, or {} of the accelerations, more of it alone brings under 1 %. Whether a value "
        "holds is not said here.",
        planner::format_duration(value->now_s), planner::format_duration(value->wanted_s),
        check::words::percent(value->speed_knee), check::words::percent(value->acceleration_knee));
    const Rows alone = alone_rows(*value);
    return section(
        "time", "What speed and acceleration are worth", reading,
        table("Time with the speeds and accelerations of all axes scaled together",
              grid_rows(*value)) +
            (alone.size() > 1
                 ? table("Time over one setting alone, where it changes by 0.1 % or more", alone)
                 : std::string()) +
            table("Time with one value changed alone to the one with margin, most saved first",
                  worth_rows(*value)));
}

}  // namespace stepper_sim::report::page_html
