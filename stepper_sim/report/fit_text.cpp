#include "stepper_sim/report/fit_text.hpp"

#include <fmt/core.h>

#include <array>
#include <cmath>
#include <filesystem>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/trial/trial.hpp"

namespace stepper_sim::report {

namespace {

std::string percent(double spread) {
    return fmt::format("+-{:.0f} %", 100.0 * spread);
}

std::string unknown_name(trial::Unknown unknown, bool rigid) {
    constexpr std::array<std::string_view, trial::kUnknowns> kNames{"friction", "running factor",
                                                                    "stiffness", "damping"};
    return unknown == trial::spring_unknown && rigid ? "moved mass" : std::string(kNames[unknown]);
}

std::string unknowns_text(const trial::AxisFit& fit) {
    std::vector<std::vector<std::string>> rows{{"", "believed", "fitted to", "now"}};
    const bool rigid = dynamics::is_rigid(fit.prior.nominal);
    for (const trial::Unknown unknown : {trial::friction_unknown, trial::torque_unknown,
                                         trial::spring_unknown, trial::damping_unknown}) {
        if (unknown == trial::damping_unknown && rigid) continue;
        rows.push_back({unknown_name(unknown, rigid), percent(fit.before.spread(unknown)),
                        fmt::format("x {:.3f}", std::exp(fit.after.value[unknown])),
                        percent(fit.after.spread(unknown))});
    }
    return table(rows);
}

std::string sheets_text(const trial::AxisFit& fit) {
    std::vector<std::vector<std::string>> rows{{"sheet", "raises", "expected before", "now"}};
    for (const trial::SheetFit& sheet : fit.sheets) {
        const trial::TrialQuestion question = sheet.motion.question;
        const auto shown = [&](const trial::Prediction& p, double spread) {
            return p.slips ? trial::rung_text(question, p.value) + ' ' + percent(spread)
                           : "no loss";
        };
        rows.push_back(
            {planner::printable(std::filesystem::path(sheet.file).filename().string(), 24),
             std::string(trial::to_word(question)), shown(sheet.before, sheet.spread_before),
             shown(sheet.after, sheet.spread_after)});
    }
    return table(rows);
}

std::string outlier_text(const trial::Answer& answer) {
    return "The fit does not reproduce " + trial::place_text(answer.place) + ", " + answer.text +
           ": it gives " + answer.expected + '.';
}

/// What to flash with what is known now, beside what it was before.
std::string before_and_now(const LimitsBothWays& limits) {
    std::vector<std::vector<std::string>> rows{
        {"limit", "holds, before", "now", "with margin, before", "now"}};
    for (std::size_t i = 0; i < limits.after.axes.size(); ++i) {
        const limits::AxisLimits &before = limits.before.axes[i], &after = limits.after.axes[i];
        const auto add = [&](std::string_view what, const limits::SettingLimit& was,
                             const limits::SettingLimit& now, auto&& in_units) {
            const auto shown = [&](const limits::AxisLimits& axis, double value) {
                return axis.holds ? in_units(value) : std::string("none");
            };
            rows.push_back({fmt::format("{} {}", after.letter, what), shown(before, was.just_holds),
                            shown(after, now.just_holds), shown(before, was.with_margin),
                            shown(after, now.with_margin)});
        };
        add("max_speed", before.speed, after.speed, check::words::mm_s);
        add("max_acceleration", before.acceleration, after.acceleration, check::words::mm_s2);
        if (before.step && after.step)
            add("speed_step", *before.step, *after.step, check::words::mm_s);
    }
    return table(rows);
}

}  // namespace

std::string fit_text(const machine::Machine& machine, const trial::FittedSheets& fits,
                     std::span<const trial::FittedValue> values,
                     const std::optional<LimitsBothWays>& limits) {
    std::string out = planner::printable(machine.name) + '\n';
    for (const std::string& line : fits.recorded)
        out += wrapped(line, 2, 0);
    for (const trial::AxisFit& fit : fits.axes) {
        out +=
            fmt::format("\naxis {}\n", fit.letter) + unknowns_text(fit) + '\n' + sheets_text(fit);
        for (const trial::Answer& answer : fit.outliers)
            out += wrapped(outlier_text(answer), 0, 0);
        if (fit.far_off)
            out += wrapped(
                "These answers lie far from what the machine file leads to expect: read its motor, "
                "current and masses again before you trust the fit.",
                0, 0);
    }
    out += values.empty() ? "\nThe answers leave every value of the machine file as it is.\n"
                          : "\nFitted values\n";
    for (const trial::FittedValue& value : values)
        out += fmt::format("  axes.{}.{} = {}\n", planner::axis_key(value.letter), value.key,
                           value.value);
    if (limits) {
        out += "\nLimits of the tried axes on worst-case moves\n" + before_and_now(*limits);
        if (limits->after.axes.size() < machine.axes.size())
            out += "Moves of one axis at a time: `limits` also judges corners of X and Y.\n";
    }
    return out;
}

}  // namespace stepper_sim::report
