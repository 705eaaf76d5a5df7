#include "stepper_sim/limits/limits.hpp"

#include <fmt/core.h>
#include <oneapi/tbb/parallel_for.h>

#include <algorithm>

#include "stepper_sim/limits/axis_group.hpp"
#include "stepper_sim/limits/limits_together.hpp"
#include "stepper_sim/limits/search_start.hpp"
#include "stepper_sim/run/run_program.hpp"
#include "stepper_sim/run/worst_moves.hpp"

namespace stepper_sim::limits {

namespace {

/// What `check` itself says of the machine with the values found: faults of a program, of wiring or of parts, which no value mends.
planner::Result<std::string> check_says(const LimitsQuestion& question,
                                        const machine::Machine& machine,
                                        const run::MotorModels& models) {
    const std::vector<run::ProgramSource> worst = question.programs.empty()
                                                      ? run::worst_programs(machine, models)
                                                      : std::vector<run::ProgramSource>();
    const std::span<const run::ProgramSource> sources =
        question.programs.empty() ? std::span(worst) : question.programs;
    std::vector<std::optional<planner::Result<run::ProgramResult>>> ran(sources.size());
    tbb::parallel_for(std::size_t{0}, sources.size(), [&](std::size_t i) {
        ran[i] = run::run_program(machine, models, sources[i], {.margin = question.margin});
    });
    std::vector<run::ProgramResult> results;
    for (auto& result : ran) {
        if (!*result) return result->diagnostics();
        results.push_back(std::move(*result).value());
    }
    std::string said;
    for (const check::Finding& finding :
         check::run_checks({machine, models, results, question.margin}))
        if (finding.grade != check::Grade::note)
            said +=
                (said.empty() ? "" : "; ") + std::string(finding.check) + ": " + finding.message;
    return said;
}

machine::Machine machine_with(machine::Machine machine, const Limits& limits,
                              double SettingLimit::*value) {
    for (const AxisLimits& axis : limits.axes) {
        if (!axis.holds) continue;
        machine::AxisSettings& out = machine.axes[static_cast<std::size_t>(axis.slot)].settings;
        out.max_speed = planner::from_si<planner::Speed>(axis.speed.*value);
        out.max_acceleration = planner::from_si<planner::Acceleration>(axis.acceleration.*value);
        if (axis.step) out.speed_step = planner::from_si<planner::Speed>((*axis.step).*value);
    }
    return machine;
}

void write_axes(const machine::Machine& machine, const std::vector<GroupSettings>& just_hold,
                const std::vector<GroupSettings>& margined,
                const std::vector<GroupSearch>& searches, Limits& limits) {
    machine::Machine high = machine, low = machine;
    for (std::size_t g = 0; g < searches.size(); ++g) {
        const AxisGroup& group = searches[g].group();
        if (searches[g].found().holds) {
            group.apply(just_hold[g], high);
            group.apply(margined[g], low);
        }
        for (const int slot : group.slots) {
            const auto s = static_cast<std::size_t>(slot);
            limits.axes.push_back(searches[g].axis_limits(
                slot, machine.axes[s].settings, high.axes[s].settings, low.axes[s].settings));
        }
    }
    std::sort(limits.axes.begin(), limits.axes.end(),
              [](const AxisLimits& a, const AxisLimits& b) { return a.slot < b.slot; });
}

}  // namespace

planner::Result<Limits> find_limits(const LimitsQuestion& question,
                                    const LimitsProgress& progress) {
    const run::MotorModels models = run::motor_models(question.machine);
    std::vector<AxisGroup> groups = axis_groups(question.machine);
    const auto unasked = std::erase_if(groups, [&](const AxisGroup& group) {
        return std::none_of(group.slots.begin(), group.slots.end(),
                            [&](int slot) { return (question.slots >> slot & 1U) != 0; });
    });
    const machine::Machine machine = start_machine(question.machine, models, groups);
    SearchShared shared{{}, {progress, groups.size(), question.programs.size()}};
    std::vector<GroupSearch> searches;
    searches.reserve(groups.size());
    for (const AxisGroup& group : groups)
        searches.emplace_back(machine, models, group, question.margin, shared);
    tbb::parallel_for(std::size_t{0}, groups.size(), [&](std::size_t g) { searches[g].run(); });
    shared.progress.begin(SearchStage::settling);

    std::vector<GroupSettings> just_hold, margined;
    std::uint32_t motors = 0;  // of axes for which some settings hold: no value mends the others
    for (const GroupSearch& search : searches) {
        const bool holds = search.found().holds;
        just_hold.push_back(holds ? search.found().just_holds
                                  : start_settings(machine, models, search.group()));
        if (holds) motors |= search.group().motors;
    }
    const bool all = unasked == 0;
    const LimitsQuestion from_start{machine, question.programs, question.margin, question.slots};
    const LimitsTogether together(from_start, models, groups, all, motors, shared);
    auto settled = together.settle(just_hold, 0.0, searches, false);
    if (!settled) return settled.diagnostics();
    if (settled.value().clear) {
        shared.progress.begin(SearchStage::raising);
        const auto edge = together.raise(just_hold, searches);
        if (!edge) return edge.diagnostics();
    }
    shared.progress.begin(SearchStage::with_margin);
    for (std::size_t g = 0; g < searches.size(); ++g)
        margined.push_back(searches[g].lowered(just_hold[g]));
    settled = together.settle(margined, question.margin, searches, true);
    if (!settled) return settled.diagnostics();

    Limits limits;
    limits.margin = question.margin;
    write_axes(question.machine, just_hold, margined, searches, limits);
    limits.why_not_clear = settled.value().why;
    for (const AxisLimits& axis : limits.axes)
        if (!axis.holds && limits.why_not_clear.empty()) limits.why_not_clear = axis.why_not;
    if (limits.why_not_clear.empty() && all) {
        auto said = check_says(question, with_margin(question.machine, limits), models);
        if (!said) return said.diagnostics();
        limits.why_not_clear = std::move(said).value();
    }
    limits.clear = limits.why_not_clear.empty();
    shared.progress.done();
    return limits;
}

machine::Machine with_margin(machine::Machine machine, const Limits& limits) {
    return machine_with(std::move(machine), limits, &SettingLimit::with_margin);
}

machine::Machine just_holding(machine::Machine machine, const Limits& limits) {
    return machine_with(std::move(machine), limits, &SettingLimit::just_holds);
}

}  // namespace stepper_sim::limits
