#include "stepper_sim/tune/limits.hpp"

#include <fmt/core.h>
#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <atomic>
#include <cmath>

#include "stepper_sim/check/canonical_moves.hpp"
#include "stepper_sim/check/run_program.hpp"
#include "stepper_sim/tune/axis_group.hpp"
#include "stepper_sim/tune/group_search.hpp"
#include "stepper_sim/tune/highest.hpp"

namespace stepper_sim {

namespace {

// Every cure lowers something by at least a few per cent; more rounds than this end in nothing useful.
constexpr int kMostCures = 24;
constexpr double kLowestCure = 0.1;
constexpr double kCuredTo = 1.05;
constexpr double kGentle = 0.8;       // a cure this gentle is not bettered
constexpr double kSearchShare = 0.7;  // of the work, the rest is judging all axes together

GroupSettings lower(GroupSettings settings, LoweredSettings which, double scale) {
    if (which == LoweredSettings::all) return settings.times(scale);
    (which == LoweredSettings::speed ? settings.speed_m_s : settings.acceleration_m_s2) *= scale;
    return settings;
}

/// All groups at their settings, judged together on every source: the search of one group does not see corners, programs and the
/// processor time of the others.
class Together {
  public:
    /// `all`: the groups are all of the machine's, so that corners between them count.
    Together(const LimitsQuestion& question, const MotorModels& models,
             std::span<const AxisGroup> groups, bool all)
        : question_(question), models_(models), groups_(groups), all_(all) {
        for (const AxisGroup& group : groups)
            motors_ |= group.motors;
    }

    /// Lowers `settings` until everything is clear at the margin, and notes in `found` why. Returns the last answer.
    planner::Result<ProbeAnswer> settle(std::vector<GroupSettings>& settings, double margin,
                                        std::vector<GroupSearch>& searches, bool at_margin) const {
        for (int round = 0;; ++round) {
            auto asked = first_unclear(settings, margin);
            if (!asked) return asked.diagnostics();
            const ProbeAnswer& answer = asked.value();
            if (answer.clear || round == kMostCures) return answer;
            const std::size_t g = group_of(answer.motor, settings);
            LoweredSettings lowered{};
            if (!cure(settings, g, answer, margin, lowered)) return answer;
            searches[g].note_cure(answer, lowered, at_margin);
        }
    }

  private:
    Machine machine_at(const std::vector<GroupSettings>& settings) const {
        Machine machine = question_.machine;
        for (std::size_t g = 0; g < groups_.size(); ++g)
            groups_[g].apply(settings[g], machine);
        return machine;
    }

    std::vector<ProgramSource> sources_of(const Machine& machine) const {
        std::vector<ProgramSource> sources;
        if (all_) {
            sources = canonical_programs(machine, models_);
        } else {
            for (const AxisGroup& group : groups_)
                for (const int slot : group.slots)
                    for (ProgramSource& moves : canonical_moves(machine, models_, slot))
                        sources.push_back(std::move(moves));
        }
        sources.insert(sources.end(), question_.programs.begin(), question_.programs.end());
        return sources;
    }

    planner::Result<ProbeAnswer> first_unclear(const std::vector<GroupSettings>& settings,
                                               double margin) const {
        const Machine machine = machine_at(settings);
        const std::vector<ProgramSource> sources = sources_of(machine);
        std::vector<std::optional<planner::Result<ProbeAnswer>>> answers(sources.size());
        tbb::parallel_for(std::size_t{0}, sources.size(), [&](std::size_t i) {
            answers[i] = probe({machine, models_, {&sources[i], 1}, margin, motors_});
        });
        for (auto& answer : answers)
            if (!*answer || !answer->value().clear) return *std::move(answer);
        return ProbeAnswer{};
    }

    /// Whose settings to lower; where it is nobody's motor (the processor), those of the busiest.
    std::size_t group_of(int motor, const std::vector<GroupSettings>& settings) const {
        std::size_t busiest = 0;
        double most_hz = 0.0;
        for (std::size_t g = 0; g < groups_.size(); ++g) {
            if (motor >= 0 && (groups_[g].motors >> motor & 1U) != 0) return g;
            const auto slot = static_cast<std::size_t>(groups_[g].slots.front());
            const double rate_hz =
                settings[g].speed_m_s * question_.machine.axes[slot].steps_per_m();
            if (rate_hz <= most_hz) continue;
            most_hz = rate_hz;
            busiest = g;
        }
        return busiest;
    }

    /// The gentlest of: less acceleration, less speed, less of all three.
    bool cure(std::vector<GroupSettings>& settings, std::size_t g, const ProbeAnswer& trouble,
              double margin, LoweredSettings& lowered) const {
        const GroupSettings before = settings[g];
        const auto holds = [&](double scale, LoweredSettings which) {
            settings[g] = lower(before, which, scale);
            const Machine machine = machine_at(settings);
            std::vector<ProgramSource> sources = sources_of(machine);
            if (!trouble.source.empty())
                std::erase_if(sources, [&](const ProgramSource& source) {
                    return source.name() != trouble.source;
                });
            const auto answer = probe({machine, models_, sources, margin, groups_[g].motors});
            return answer && answer.value().clear;
        };
        double best = 0.0;
        for (const LoweredSettings which :
             {LoweredSettings::acceleration, LoweredSettings::speed, LoweredSettings::all}) {
            // What does not even match the best so far needs no search.
            double low = std::max(kLowestCure, best), high = 1.0;
            if (low > kGentle || !holds(low, which)) continue;
            while (high > low * kCuredTo) {
                const double middle = std::sqrt(low * high);
                (holds(middle, which) ? low : high) = middle;
            }
            if (low <= best) continue;
            best = low;
            lowered = which;
        }
        settings[g] = best > 0.0 ? lower(before, lowered, best) : before;
        return best > 0.0;
    }

    const LimitsQuestion& question_;
    const MotorModels& models_;
    std::span<const AxisGroup> groups_;
    bool all_;
    std::uint32_t motors_ = 0;
};

/// What `check` itself says of the machine with the values found: faults of a program, of wiring or of parts, which no value mends.
planner::Result<std::string> check_says(const LimitsQuestion& question, const Machine& machine,
                                        const MotorModels& models) {
    const std::vector<ProgramSource> worst = question.programs.empty()
                                                 ? canonical_programs(machine, models)
                                                 : std::vector<ProgramSource>();
    const std::span<const ProgramSource> sources =
        question.programs.empty() ? std::span(worst) : question.programs;
    std::vector<std::optional<planner::Result<ProgramResult>>> ran(sources.size());
    tbb::parallel_for(std::size_t{0}, sources.size(),
                      [&](std::size_t i) { ran[i] = run_program(machine, models, sources[i]); });
    std::vector<ProgramResult> results;
    for (auto& result : ran) {
        if (!*result) return result->diagnostics();
        results.push_back(std::move(*result).value());
    }
    std::string said;
    for (const Finding& finding : run_checks({machine, models, results, question.margin}))
        if (finding.grade != Grade::note)
            said +=
                (said.empty() ? "" : "; ") + std::string(finding.check) + ": " + finding.message;
    return said;
}

Machine machine_with(Machine machine, const Limits& limits, double SettingLimit::*value) {
    for (const AxisLimits& axis : limits.axes) {
        if (!axis.holds) continue;
        AxisSettings& out = machine.axes[static_cast<std::size_t>(axis.slot)].settings;
        out.max_speed = planner::from_si<planner::Speed>(axis.speed.*value);
        out.max_acceleration = planner::from_si<planner::Acceleration>(axis.acceleration.*value);
        if (axis.step) out.speed_step = planner::from_si<planner::Speed>((*axis.step).*value);
    }
    return machine;
}

void write_axes(const Machine& machine, const std::vector<GroupSettings>& just_hold,
                const std::vector<GroupSettings>& margined,
                const std::vector<GroupSearch>& searches, Limits& limits) {
    Machine high = machine, low = machine;
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
    const Machine& machine = question.machine;
    const MotorModels models = motor_models(machine);
    std::vector<AxisGroup> groups = axis_groups(machine);
    const auto unasked = std::erase_if(groups, [&](const AxisGroup& group) {
        return std::none_of(group.slots.begin(), group.slots.end(),
                            [&](int slot) { return (question.slots >> slot & 1U) != 0; });
    });
    std::vector<GroupSearch> searches;
    for (const AxisGroup& group : groups)
        searches.emplace_back(machine, models, group, question.margin);
    std::atomic<std::size_t> done{0};
    tbb::parallel_for(std::size_t{0}, groups.size(), [&](std::size_t g) {
        searches[g].run();
        const double share = static_cast<double>(++done) / static_cast<double>(groups.size());
        if (progress) progress(kSearchShare * share);
    });

    std::vector<GroupSettings> just_hold, margined;
    for (const GroupSearch& search : searches)
        just_hold.push_back(search.found().holds ? search.found().just_holds
                                                 : present_settings(search.group(), machine));
    const bool all = unasked == 0;
    const Together together(question, models, groups, all);
    auto settled = together.settle(just_hold, 0.0, searches, false);
    if (!settled) return settled.diagnostics();
    if (progress) progress(0.5 * (1.0 + kSearchShare));
    for (std::size_t g = 0; g < searches.size(); ++g)
        margined.push_back(searches[g].lowered(just_hold[g]));
    settled = together.settle(margined, question.margin, searches, true);
    if (!settled) return settled.diagnostics();

    Limits limits;
    limits.margin = question.margin;
    write_axes(machine, just_hold, margined, searches, limits);
    limits.why_not_clear = settled.value().why;
    for (const AxisLimits& axis : limits.axes)
        if (!axis.holds && limits.why_not_clear.empty()) limits.why_not_clear = axis.why_not;
    if (limits.why_not_clear.empty() && all) {
        auto said = check_says(question, with_margin(machine, limits), models);
        if (!said) return said.diagnostics();
        limits.why_not_clear = std::move(said).value();
    }
    limits.clear = limits.why_not_clear.empty();
    if (progress) progress(1.0);
    return limits;
}

Machine with_margin(Machine machine, const Limits& limits) {
    return machine_with(std::move(machine), limits, &SettingLimit::with_margin);
}

Machine just_holding(Machine machine, const Limits& limits) {
    return machine_with(std::move(machine), limits, &SettingLimit::just_holds);
}

}  // namespace stepper_sim
