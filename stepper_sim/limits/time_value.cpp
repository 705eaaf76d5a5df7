#include "stepper_sim/limits/time_value.hpp"

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <optional>
#include <utility>

#include "planner/lookahead/corner.hpp"
#include "stepper_sim/run/plan_file.hpp"

namespace stepper_sim::limits {

namespace {

// Knees are looked for on a grid of quarter octaves, up to where no machine goes.
constexpr int kKneePoints = 17;
constexpr double kKneeLowest = 0.5;
double knee_scale(int point) {
    return kKneeLowest * std::pow(2.0, 0.25 * point);
}

}  // namespace

planner::Result<double> duration_s(const machine::Machine& machine,
                                   std::span<const run::ProgramSource> programs) {
    double sum_s = 0.0;
    for (const run::ProgramSource& program : programs) {
        double end_s = 0.0;
        const auto planned =
            run::plan_file(machine, program, [&end_s](std::span<const planner::MotorMove> moves) {
                if (!moves.empty())
                    end_s = moves.back().start.seconds() + moves.back().profile.duration_s;
                return true;
            });
        if (!planned) return planned.diagnostics();
        sum_s += end_s + planned.value().trailing_rest_s;
    }
    return sum_s;
}

namespace {

constexpr std::array kTimedSettings{machine::SettingKey::max_speed,
                                    machine::SettingKey::max_acceleration,
                                    machine::SettingKey::speed_step};

machine::Machine scaled(machine::Machine machine, double speed, double acceleration) {
    for (machine::Axis& axis : machine.axes) {
        axis.settings.max_speed *= speed;
        axis.settings.max_acceleration *= acceleration;
    }
    return machine;
}

/// Each wanted value that differs, with the machine that has only this one.
std::vector<std::pair<SettingWorth, machine::Machine>> single_changes(
    const machine::Machine& present, const machine::Machine& wanted) {
    std::vector<std::pair<SettingWorth, machine::Machine>> changes;
    for (std::size_t i = 0; i < present.axes.size(); ++i)
        for (const machine::SettingKey setting : kTimedSettings) {
            const char letter = present.axes[i].letter;
            const double now = machine::present_value(present, letter, setting);
            const double next = machine::present_value(wanted, letter, setting);
            if (now == next) continue;
            machine::Machine machine = present;
            machine::apply({letter, setting, next}, machine);
            changes.push_back({{letter, setting, now, next, 0.0}, machine});
        }
    return changes;
}

/// The least scale after which all the rest saves under the share.
double knee(std::span<const double> durations_s) {
    const double least_s = *std::min_element(durations_s.begin(), durations_s.end());
    for (int i = 0; i < kKneePoints; ++i)
        if (durations_s[static_cast<std::size_t>(i)] <= least_s * (1.0 + kKneeShare))
            return knee_scale(i);
    return knee_scale(kKneePoints - 1);
}

}  // namespace

planner::Result<TimeValue> time_value(const machine::Machine& present,
                                      const machine::Machine& wanted,
                                      std::span<const run::ProgramSource> programs,
                                      const std::function<void(double)>& progress) {
    TimeValue result;
    auto changes = single_changes(present, wanted);
    std::array<double, kKneePoints> by_speed_s{}, by_acceleration_s{};
    std::vector<std::pair<machine::Machine, double*>> points{{present, &result.now_s},
                                                             {wanted, &result.wanted_s}};
    for (auto& [worth, machine] : changes)
        points.emplace_back(machine, &worth.duration_s);
    for (std::size_t a = 0; a < kTimeScales.size(); ++a)
        for (std::size_t s = 0; s < kTimeScales.size(); ++s)
            points.emplace_back(scaled(present, kTimeScales[s], kTimeScales[a]),
                                &result.grid_s[a][s]);
    const bool by_step = planner::row_of(present.planning.corner).of_each_axis;
    const auto settings = std::span(kTimedSettings).first(by_step ? 3 : 2);
    for (const machine::Axis& axis : present.axes)
        for (const machine::SettingKey setting : settings)
            result.alone.push_back({axis.letter, setting});
    for (std::size_t i = 0; i < result.alone.size(); ++i)
        for (std::size_t s = 0; s < kTimeScales.size(); ++s) {
            machine::Machine machine = present;
            const auto& [letter, setting, times] = result.alone[i];
            machine::apply({letter, setting,
                            kTimeScales[s] * machine::present_value(present, letter, setting)},
                           machine);
            points.emplace_back(std::move(machine), &result.alone[i].duration_s[s]);
        }
    for (int i = 0; i < kKneePoints; ++i) {
        const auto k = static_cast<std::size_t>(i);
        points.emplace_back(scaled(present, knee_scale(i), 1.0), &by_speed_s[k]);
        points.emplace_back(scaled(present, 1.0, knee_scale(i)), &by_acceleration_s[k]);
    }

    std::atomic<std::size_t> done = 0;
    std::vector<std::optional<planner::Result<double>>> durations(points.size());
    tbb::parallel_for(std::size_t{0}, points.size(), [&](std::size_t i) {
        durations[i] = duration_s(points[i].first, programs);
        const auto count = static_cast<double>(++done);
        if (progress) progress(count / static_cast<double>(points.size()));
    });
    for (std::size_t i = 0; i < points.size(); ++i) {
        if (!*durations[i]) return durations[i]->diagnostics();
        *points[i].second = durations[i]->value();
    }

    result.speed_knee = knee(by_speed_s);
    result.acceleration_knee = knee(by_acceleration_s);
    std::stable_sort(
        result.alone.begin(), result.alone.end(),
        [](const SettingTimes& a, const SettingTimes& b) { return a.spread_s() > b.spread_s(); });
    for (auto& [worth, machine] : changes)
        result.worths.push_back(worth);
    std::stable_sort(
        result.worths.begin(), result.worths.end(),
        [](const SettingWorth& a, const SettingWorth& b) { return a.duration_s < b.duration_s; });
    return result;
}

}  // namespace stepper_sim::limits
