#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/change.hpp"
#include "stepper_sim/report/escape.hpp"
#include "stepper_sim/report/page_html.hpp"

namespace stepper_sim::report::page_html {

namespace {

using Rows = std::vector<std::vector<std::string>>;

/// The settings that findings propose, each once: the first stands for all, unless another asks for more of the same.
std::vector<check::SettingChange> all_proposed(const check::Report& report) {
    std::vector<check::SettingChange> all;
    for (const check::Finding& finding : report.findings) {
        const check::Change* change = check::shown_change(finding, report.change_first);
        if (change == nullptr) continue;
        for (const check::SettingChange& setting : change->settings) {
            const auto same = std::find_if(all.begin(), all.end(), [&](const auto& other) {
                return other.to.axis == setting.to.axis && other.to.key == setting.to.key;
            });
            if (same == all.end())
                all.push_back(setting);
            else if (std::abs(setting.to.value - setting.now) >
                     std::abs(same->to.value - same->now))
                *same = setting;
        }
    }
    return all;
}

/// What is proposed for one setting of an axis.
std::string proposed(const check::Report& report, char axis, std::string_view key) {
    for (const check::SettingChange& setting : all_proposed(report))
        if (setting.to.axis == axis && machine::key_text(setting.to.key) == key)
            return fmt::format("<strong>{}</strong>", pretty(machine::value_text(setting.to)));
    return "keep";
}

/// The check whose finding proposes a setting.
std::string asked_by(const check::Report& report, const check::SettingChange& setting) {
    for (const check::Finding& finding : report.findings)
        if (const check::Change* change = check::shown_change(finding, report.change_first))
            if (std::find(change->settings.begin(), change->settings.end(), setting) !=
                change->settings.end())
                return finding.check;
    return {};
}

/// What the largest use of an axis's motor is, in words.
std::string nearest_limit(const check::MotorSummary& motor) {
    const double swing = motor.modal_ratio_peak, torque = motor.torque_use_peak;
    if (swing >= torque) return fmt::format("swing {} of the torque", check::words::percent(swing));
    return fmt::format("torque {}", check::words::percent(torque));
}

/// One row of what was looked for; a value above what just holds says so in a word.
std::vector<std::string> limit_row(const check::Report& report, char axis, std::string_view key,
                                   const limits::SettingLimit& limit,
                                   std::string (*in_words)(double value)) {
    const bool over = limit.present > limit.just_holds;
    const std::string now = pretty(in_words(limit.present));
    return {std::string(1, axis),
            setting_name(key),
            over ? fmt::format("<strong class=\"over\">{} too high</strong>", now) : now,
            proposed(report, axis, key),
            pretty(in_words(limit.just_holds)),
            pretty(in_words(limit.with_margin)),
            fmt::format("{}<small>{}</small>", run::to_word(limit.binds), pretty(limit.why))};
}

/// Rows for what findings ask to change besides the three settings that always have a row.
void add_other_changes(const check::Report& report, Rows& rows) {
    std::set<std::pair<char, std::string>> shown;
    for (const check::SettingsSummary& axis : report.settings)
        for (const char* key : {"max_speed", "max_acceleration", "speed_step"})
            shown.emplace(axis.letter, key);
    for (const check::SettingChange& setting : all_proposed(report)) {
        const auto& [to, now] = setting;
        if (shown.emplace(to.axis, machine::key_text(to.key)).second)
            rows.push_back({to.axis == 0 ? "–" : std::string(1, to.axis),
                            html_text(setting_name(machine::key_text(to.key))),
                            pretty(machine::value_text({to.axis, to.key, now})),
                            proposed(report, to.axis, machine::key_text(to.key)), "–", "–",
                            "asked by " + html_text(asked_by(report, setting))});
    }
}

Rows limit_rows(const check::Report& report, const limits::Limits& limits) {
    Rows rows{{"Axis", "Setting", "Now", "Findings ask", "Just holds",
               fmt::format("With {} margin", check::words::percent(limits.margin)), "Limited by"}};
    for (const limits::AxisLimits& axis : limits.axes) {
        if (!axis.holds) {
            rows.push_back({std::string(1, axis.letter), "all", "–", "–", "nothing found", "–",
                            pretty(axis.why_not)});
            continue;
        }
        rows.push_back(limit_row(report, axis.letter, "max_speed", axis.speed, check::words::mm_s));
        rows.push_back(limit_row(report, axis.letter, "max_acceleration", axis.acceleration,
                                 check::words::mm_s2));
        if (axis.step)
            rows.push_back(
                limit_row(report, axis.letter, "speed_step", *axis.step, check::words::mm_s));
    }
    add_other_changes(report, rows);
    return rows;
}

Rows plain_rows(const check::Report& report) {
    Rows rows{{"Axis", "Setting", "Now", "Change to", "Program reaches", "Ceiling known",
               "Nearest checked limit"}};
    for (std::size_t i = 0; i < report.settings.size(); ++i) {
        const check::SettingsSummary& now = report.settings[i];
        const check::MotorSummary& motor = report.motors[i];
        const check::AxisSummary& axis = report.axes[i];
        const auto reached = [&](const std::string& text) {
            return report.has_program ? pretty(text) : std::string("–");
        };
        const std::string letter(1, now.letter);
        rows.push_back({letter, "top speed", pretty(check::words::mm_s(now.max_speed_m_s)),
                        proposed(report, now.letter, "max_speed"),
                        reached(check::words::mm_s(axis.peak_speed_m_s)),
                        pretty(check::words::mm_s(motor.step_rate_speed_m_s)),
                        fmt::format("step rate of the {}", now.step_rate_binds)});
        rows.push_back({letter, "acceleration",
                        pretty(check::words::mm_s2(now.max_acceleration_m_s2)),
                        proposed(report, now.letter, "max_acceleration"),
                        reached(check::words::mm_s2(axis.peak_acceleration_m_s2)), "–",
                        report.has_program ? nearest_limit(motor) : std::string("–")});
        rows.push_back({letter, "speed step", pretty(check::words::mm_s(now.speed_step_m_s)),
                        proposed(report, now.letter, "speed_step"), "–", "–",
                        report.has_program
                            ? fmt::format("{} of what the rotor follows",
                                          check::words::percent(motor.speed_step_use_peak))
                            : std::string("–")});
    }
    add_other_changes(report, rows);
    return rows;
}

}  // namespace

std::string settings(const check::Report& report, const limits::Limits* limits) {
    if (limits == nullptr)
        return section("settings", "Settings",
                       "What is to be flashed, what the findings ask to change, and what comes "
                       "nearest to a limit with this program. The values that hold may be lower: "
                       "<code>stepper_sim limits</code> seeks them.",
                       table("Settings by axis", plain_rows(report)));
    const std::string clear =
        limits->clear
            ? std::string(" The check says clear with the values with margin.")
            : " Not clear even with the values with margin: " + pretty(limits->why_not_clear);
    return section("settings", "Settings",
                   "The values that hold, judged by the checks on worst-case moves and on the "
                   "programs; those of one axis hold together." +
                       clear,
                   table("Settings by axis", limit_rows(report, *limits)));
}

}  // namespace stepper_sim::report::page_html
