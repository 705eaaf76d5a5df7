#include "stepper_sim/cli/limits_text.hpp"

#include <fmt/core.h>

#include <vector>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/tune/settings_text.hpp"

namespace stepper_sim::cli {

namespace {

using Rows = std::vector<std::vector<std::string>>;
using InUnits = std::string (*)(double);

void add_row(const AxisLimits& axis, std::string_view what, const SettingLimit& setting,
             InUnits in_units, Rows& rows) {
    const auto shown = [&](double value) {
        return axis.holds ? in_units(value) : std::string("none");
    };
    std::string binds(to_word(setting.binds));
    if (setting.binds_with_margin != setting.binds)
        binds += fmt::format(", {}", to_word(setting.binds_with_margin));
    rows.push_back({fmt::format("{} {}", axis.letter, what), in_units(setting.present),
                    shown(setting.just_holds), shown(setting.with_margin), binds});
}

std::string values_table(const Limits& limits) {
    Rows rows{{"setting", "now", "just holds",
               fmt::format("with {} margin", words::percent(limits.margin)), "binds"}};
    for (const AxisLimits& axis : limits.axes) {
        add_row(axis, "max_speed", axis.speed, words::mm_s, rows);
        add_row(axis, "max_acceleration", axis.acceleration, words::mm_s2, rows);
        if (axis.step) add_row(axis, "speed_step", *axis.step, words::mm_s, rows);
    }
    return table(rows);
}

void add_why(const AxisLimits& axis, std::string_view what, const SettingLimit& setting,
             std::string& last, std::string& out) {
    if (setting.why.empty() || setting.why == last) return;
    last = setting.why;
    out += "  " +
           wrapped(fmt::format("{} {} is not higher: {}", axis.letter, what, setting.why), 4, 2);
}

std::string reasons(const Limits& limits) {
    std::string out = "Why\n";
    for (const AxisLimits& axis : limits.axes) {
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
    }
    return out;
}

}  // namespace

std::string limits_text(const Machine& machine, const Limits& limits) {
    std::string out = wrapped(planner::printable(machine.name, 400), 2, 0);
    out += '\n' + values_table(limits) + '\n' + reasons(limits);
    const auto lines = setting_lines(with_margin(machine, limits), machine);
    out += "\nTo change in the machine file\n";
    for (const std::string& line : lines)
        out += "  " + line + '\n';
    out += '\n' + wrapped(limits.clear ? std::string("`check` says clear with these values.")
                                       : "`check` does not say clear with these values: " +
                                             limits.why_not_clear,
                          0, 0);
    return out;
}

}  // namespace stepper_sim::cli
