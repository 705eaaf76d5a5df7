#include "stepper_sim/report/limits_text.hpp"

#include <fmt/core.h>

#include <cmath>
#include <vector>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/limits/settings_text.hpp"
#include "stepper_sim/report/change.hpp"
#include "stepper_sim/report/layout.hpp"

namespace stepper_sim::report {

namespace {

using Rows = std::vector<std::vector<std::string>>;
using InUnits = std::string (*)(double);

void add_row(const limits::AxisLimits& axis, std::string_view what,
             const limits::SettingLimit& setting, InUnits in_units, Rows& rows) {
    const auto shown = [&](double value) {
        return axis.holds ? in_units(value) : std::string("none");
    };
    std::string binds(run::to_word(setting.binds));
    if (setting.binds_with_margin != setting.binds)
        binds += fmt::format(", {}", run::to_word(setting.binds_with_margin));
    rows.push_back({fmt::format("{} {}", axis.letter, what), in_units(setting.present),
                    shown(setting.just_holds), shown(setting.with_margin), binds});
}

std::string values_table(const limits::Limits& limits) {
    Rows rows{{"setting", "now", "just holds",
               fmt::format("with {} margin", check::words::percent(limits.margin)), "limited by"}};
    for (const limits::AxisLimits& axis : limits.axes) {
        add_row(axis, "max_speed", axis.speed, check::words::mm_s, rows);
        add_row(axis, "max_acceleration", axis.acceleration, check::words::mm_s2, rows);
        if (axis.step) add_row(axis, "speed_step", *axis.step, check::words::mm_s, rows);
    }
    return table(rows);
}

void add_why(const limits::AxisLimits& axis, std::string_view what,
             const limits::SettingLimit& setting, std::string& last, std::string& out) {
    if (setting.why.empty() || setting.why == last) return;
    last = setting.why;
    out += "  " +
           wrapped(fmt::format("{} {} is not higher: {}", axis.letter, what, setting.why), 4, 2);
}

bool is_swing(const limits::SettingLimit& setting) {
    return setting.binds == run::Binding::resonance || setting.binds == run::Binding::instability;
}

std::string reasons(const limits::Limits& limits) {
    std::string out = "Why\n";
    bool swings = false;
    for (const limits::AxisLimits& axis : limits.axes) {
        std::string last;
        if (!axis.holds || !axis.keeps_margin) {
            out += "  " + wrapped(fmt::format("{}: {}: {}", axis.letter,
                                              axis.holds ? "no setting keeps the margin"
                                                         : "no setting holds",
                                              axis.why_not),
                                  4, 2);
            if (!axis.holds) continue;
        }
        add_why(axis, "max_speed", axis.speed, last, out);
        add_why(axis, "max_acceleration", axis.acceleration, last, out);
        if (axis.step) add_why(axis, "speed_step", *axis.step, last, out);
        for (const limits::SettingLimit* setting : {&axis.speed, &axis.acceleration})
            swings = swings || is_swing(*setting);
        swings = swings || (axis.step && is_swing(*axis.step));
    }
    if (swings)
        out += wrapped(
            "Where resonance or instability is the limit, frequencies matter as much as strength: "
            "a "
            "stronger or lighter part can move the limit either way.",
            0, 0);
    return out;
}

std::string in_units(const limits::SettingWorth& worth, double value) {
    return worth.setting == machine::SettingKey::max_acceleration ? check::words::mm_s2(value)
                                                                  : check::words::mm_s(value);
}

std::string worth_line(const limits::SettingWorth& worth, double now_s) {
    const double saved_s = now_s - worth.duration_s;
    return fmt::format("{} {} from {} to {} {} {} of {}", worth.letter,
                       machine::key_text(worth.setting), in_units(worth, worth.now),
                       in_units(worth, worth.wanted), saved_s >= 0.0 ? "saves" : "costs",
                       planner::format_duration(std::fabs(saved_s)),
                       planner::format_duration(now_s));
}

/// Short enough for a column: above an hour to the minute.
std::string brief(double duration_s) {
    constexpr double kMinute_s = 60.0, kHour_s = 3600.0;
    return planner::format_duration(
        duration_s < kHour_s ? duration_s : kMinute_s * std::round(duration_s / kMinute_s));
}

Rows scales_head() {
    Rows rows{{""}};
    for (const double scale : limits::kTimeScales)
        rows[0].push_back(check::words::percent(scale));
    return rows;
}

std::string alone_table(const limits::TimeValue& value) {
    Rows rows = scales_head();
    for (const limits::SettingTimes& times : value.alone) {
        if (times.spread_s() < limits::kToldShare * value.now_s) continue;
        rows.push_back(
            {fmt::format("{} {}", times.letter, setting_name(machine::key_text(times.setting)))});
        for (const double duration_s : times.duration_s)
            rows.back().push_back(brief(duration_s));
    }
    std::string out = "\nTime over one setting alone, as shares of now\n";
    if (rows.size() == 1) return out + "any setting alone: less than 0.1 %\n";
    out += table(rows);
    if (rows.size() <= value.alone.size()) out += "every other setting alone: less than 0.1 %\n";
    return out;
}

}  // namespace

std::string worth_text(const limits::TimeValue& value) {
    std::string out = "\nWhat it is worth\n";
    out += "  " + wrapped(fmt::format("the programs take {} now and {} with all values with margin",
                                      planner::format_duration(value.now_s),
                                      planner::format_duration(value.wanted_s)),
                          4, 2);
    bool rest = false;
    for (const limits::SettingWorth& worth : value.worths) {
        if (std::fabs(value.now_s - worth.duration_s) < limits::kToldShare * value.now_s)
            rest = true;
        else
            out += "  " + wrapped(worth_line(worth, value.now_s), 4, 2);
    }
    if (rest) out += "  every other change alone: less than 0.1 %\n";
    out += "\nTime over speed (across) and acceleration (down) of all axes, as shares of now\n";
    Rows rows = scales_head();
    for (std::size_t a = 0; a < limits::kTimeScales.size(); ++a) {
        rows.push_back({check::words::percent(limits::kTimeScales[a])});
        for (const double duration_s : value.grid_s[a])
            rows.back().push_back(brief(duration_s));
    }
    out += table(rows);
    out += wrapped(fmt::format("past {} of the present speeds, or {} of the accelerations, more of "
                               "it alone brings under 1 %",
                               check::words::percent(value.speed_knee),
                               check::words::percent(value.acceleration_knee)),
                   0, 0);
    return out + alone_table(value);
}

std::string limits_text(const machine::Machine& machine, const limits::Limits& limits) {
    std::string out = wrapped(planner::printable(machine.name, 400), 2, 0);
    out += '\n' + values_table(limits) + '\n' + reasons(limits);
    const auto lines = limits::setting_lines(limits::with_margin(machine, limits), machine);
    out += "\nTo change in the machine file\n";
    for (const std::string& line : lines)
        out += "  " + line + '\n';
    out += '\n' + wrapped(limits.clear ? std::string("`check` says clear with these values.")
                                       : "`check` does not say clear with these values: " +
                                             limits.why_not_clear,
                          0, 0);
    return out;
}

}  // namespace stepper_sim::report
