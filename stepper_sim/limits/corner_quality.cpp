#include "stepper_sim/limits/corner_quality.hpp"

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <atomic>
#include <optional>

#include "planner/lookahead/corner.hpp"
#include "stepper_sim/machine/setting.hpp"
#include "stepper_sim/run/plan_file.hpp"

namespace stepper_sim::limits {

namespace {

constexpr std::size_t kMostAxes = 3;  // shown
constexpr std::size_t kNow = 3;
static_assert(kCornerScales[kNow] == 1.0);

machine::Machine scaled(machine::Machine machine, double scale) {
    const planner::CornerRule rule = machine.planning.corner;
    const auto scale_one = [&](char axis) {
        const machine::SettingKey key = machine::corner_key(rule);
        machine::apply({axis, key, scale * machine::present_value(machine, axis, key)}, machine);
    };
    if (!planner::row_of(rule).of_each_axis)
        scale_one(0);
    else
        for (const machine::Axis& axis : std::vector(machine.axes))
            scale_one(axis.letter);
    return machine;
}

/// By program.
using Watches = std::vector<CornerWatch>;

planner::Result<Watches> watch(const machine::Machine& machine, const run::MotorModels& models,
                               std::span<const run::ProgramSource> programs) {
    Watches watches;
    for (const run::ProgramSource& program : programs) {
        CornerWatch& corners = watches.emplace_back(machine, models);
        const auto planned =
            run::plan_file(machine, program, [&](std::span<const planner::MotorMove> moves) {
                corners.push(moves);
                return true;
            });
        if (!planned) return planned.diagnostics();
        corners.finish(planned.value().trailing_rest_s);
    }
    return watches;
}

/// The corner of all programs with the most of something.
template <class CornerOf>
PlacedCorner worst(const Watches& watches, double Corner::*figure, CornerOf&& corner_of) {
    PlacedCorner most;
    for (std::size_t i = 0; i < watches.size(); ++i) {
        const Corner& corner = corner_of(watches[i]);
        if (corner.*figure > most.corner.*figure) most = {i, corner};
    }
    return most;
}

AxisCorners axis_corners(const machine::Machine& machine, std::size_t slot, const Watches& now) {
    const machine::Axis& axis = machine.axes[slot];
    AxisCorners corners;
    corners.letter = axis.letter;
    const planner::CornerRule rule = machine.planning.corner;
    corners.present =
        machine::present_value(machine, planner::row_of(rule).of_each_axis ? axis.letter : char{0},
                               machine::corner_key(rule));
    for (const CornerWatch& watched : now)
        corners.working_speed_m_s =
            std::max(corners.working_speed_m_s, watched.top_speed_m_s(slot));
    return corners;
}

/// The axes that ring at all, the few that ring most now.
void keep_worst(std::vector<AxisCorners>& axes) {
    const auto ringing_m = [](const AxisCorners& axis) {
        return axis.most_ringing[kNow].corner.ringing_m;
    };
    std::erase_if(axes, [&](const AxisCorners& axis) { return !(ringing_m(axis) > 0.0); });
    std::stable_sort(axes.begin(), axes.end(), [&](const AxisCorners& a, const AxisCorners& b) {
        return ringing_m(a) > ringing_m(b);
    });
    if (axes.size() > kMostAxes) axes.resize(kMostAxes);
}

}  // namespace

bool AxisCorners::usual(std::size_t scale) const {
    return setting(scale) >= kUsualStepLow * working_speed_m_s &&
           setting(scale) <= kUsualStepHigh * working_speed_m_s && !too_high(scale) &&
           !(with_margin && setting(scale) > *with_margin);
}

bool AxisCorners::too_high(std::size_t scale) const {
    return just_holds && setting(scale) > *just_holds;
}

void tell_what_holds(CornerQuality& quality, const Limits& limits) {
    for (AxisCorners& axis : quality.axes)
        for (const AxisLimits& of_axis : limits.axes) {
            if (of_axis.letter != axis.letter) continue;
            // Where nothing holds, no step does.
            if (of_axis.step || !of_axis.holds) {
                axis.just_holds = of_axis.step ? of_axis.step->just_holds : 0.0;
                axis.with_margin = of_axis.step ? of_axis.step->with_margin : 0.0;
            }
        }
}

planner::Result<CornerQuality> corner_quality(const machine::Machine& machine,
                                              std::span<const run::ProgramSource> programs,
                                              const std::function<void(double)>& progress) {
    // Neither torque nor loads depend on the corner setting.
    const run::MotorModels models = run::motor_models(machine);
    std::atomic<std::size_t> done = 0;
    std::array<std::optional<planner::Result<Watches>>, kCornerScales.size()> watched;
    tbb::parallel_for(std::size_t{0}, kCornerScales.size(), [&](std::size_t i) {
        watched[i] = watch(scaled(machine, kCornerScales[i]), models, programs);
        const auto count = static_cast<double>(++done);
        if (progress) progress(count / static_cast<double>(kCornerScales.size()));
    });
    for (const auto& watches : watched)
        if (!*watches) return watches->diagnostics();

    CornerQuality quality;
    quality.rule = machine.planning.corner;
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot)
        quality.axes.push_back(axis_corners(machine, slot, watched[kNow]->value()));
    for (std::size_t i = 0; i < kCornerScales.size(); ++i) {
        const Watches& watches = watched[i]->value();
        for (const CornerWatch& program : watches)
            quality.duration_s[i] += program.duration_s();
        quality.longest_dwell[i] = worst(
            watches, &Corner::dwell_s,
            [](const CornerWatch& program) -> const Corner& { return program.longest_dwell(); });
        for (std::size_t slot = 0; slot < machine.axes.size(); ++slot)
            quality.axes[slot].most_ringing[i] = worst(
                watches, &Corner::ringing_m, [&](const CornerWatch& program) -> const Corner& {
                    return program.most_ringing(slot);
                });
    }
    keep_worst(quality.axes);
    return quality;
}

}  // namespace stepper_sim::limits
