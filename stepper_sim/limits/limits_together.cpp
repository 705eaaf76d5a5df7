#include "stepper_sim/limits/limits_together.hpp"

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>

#include "stepper_sim/run/worst_moves.hpp"

namespace stepper_sim::limits {

namespace {

// Every cure lowers something by at least a few per cent; more rounds than this end in nothing useful.
constexpr int kMostCures = 24;
constexpr double kLowestCure = 0.1;
constexpr double kCuredTo = 1.05;
constexpr double kGentle = 0.8;  // a cure this gentle is not bettered

GroupSettings lower(GroupSettings settings, LoweredSettings which, double scale) {
    if (which == LoweredSettings::all) return settings.times(scale);
    (which == LoweredSettings::speed ? settings.speed_m_s : settings.acceleration_m_s2) *= scale;
    return settings;
}

}  // namespace

LimitsTogether::LimitsTogether(const LimitsQuestion& question, const run::MotorModels& models,
                               std::span<const AxisGroup> groups, bool all, std::uint32_t motors,
                               SearchShared& shared)
    : question_(question),
      models_(models),
      groups_(groups),
      all_(all),
      motors_(motors),
      shared_(shared) {}

planner::Result<ProbeAnswer> LimitsTogether::settle(std::vector<GroupSettings>& settings,
                                                    double margin,
                                                    std::vector<GroupSearch>& searches,
                                                    bool at_margin) const {
    ProbeAnswer answer;
    for (int round = 0;; ++round) {
        const machine::Machine machine = machine_at(settings);
        auto asked = first_unclear(machine, sources_of(machine), margin, answer);
        if (!asked) return asked.diagnostics();
        answer = std::move(asked).value();
        if (answer.clear || round == kMostCures) return answer;
        const std::size_t g = group_of(answer.motor, settings);
        LoweredSettings lowered{};
        if (!cure(settings, g, answer, margin, lowered)) return answer;
        searches[g].note_cure(answer, lowered, at_margin);
    }
}

/// Where one raise of group g was refused: an answer that needs no second asking.
struct LimitsTogether::Refusal {
    bool by_own_moves = false;  // which know nothing of the other groups
    std::vector<GroupSettings> at;

    bool stands(const std::vector<GroupSettings>& settings, std::size_t g) const {
        if (at.empty()) return false;
        return by_own_moves ? at[g] == settings[g] : at == settings;
    }
};

planner::Result<bool> LimitsTogether::raise_one(std::vector<GroupSettings>& settings, std::size_t g,
                                                const LimitedSetting& setting, GroupSearch& search,
                                                Refusal& refusal, ProbeAnswer& last_no) const {
    std::vector<GroupSettings> higher = settings;
    if (!search.raise(setting, higher[g])) return false;
    ProbeAnswer answer = search.ask(higher[g], 0.0);
    const bool own_hold = answer.clear;
    if (own_hold) {
        const machine::Machine machine = machine_at(higher);
        auto asked = first_unclear(machine, sources_beside(g, machine), 0.0, last_no);
        if (!asked) return asked.diagnostics();
        answer = std::move(asked).value();
        if (!answer.clear) last_no = answer;
    }
    if (answer.clear) {
        settings = std::move(higher);
    } else {
        refusal = {!own_hold, settings};
        search.note_beyond(setting, answer);
    }
    return answer.clear;
}

/// Step by step: a leap could end beyond a band of slips. Ends: every raise is 5 % or up to where more has no effect, and a
/// setting of 0 stays.
planner::Result<int> LimitsTogether::raise(std::vector<GroupSettings>& settings,
                                           std::vector<GroupSearch>& searches) const {
    int raises = 0;
    ProbeAnswer last_no;
    std::vector<std::array<Refusal, kLimitedSettings.size()>> refused(groups_.size());
    for (int before = -1; before < raises;) {
        before = raises;
        for (std::size_t g = 0; g < groups_.size(); ++g) {
            if (!searches[g].found().holds) continue;
            for (std::size_t i = 0; i < kLimitedSettings.size(); ++i) {
                Refusal& refusal = refused[g][i];
                for (bool higher = !refusal.stands(settings, g); higher; raises += higher) {
                    const auto raised =
                        raise_one(settings, g, kLimitedSettings[i], searches[g], refusal, last_no);
                    if (!raised) return raised.diagnostics();
                    higher = raised.value();
                }
            }
        }
    }
    return raises;
}

machine::Machine LimitsTogether::machine_at(const std::vector<GroupSettings>& settings) const {
    machine::Machine machine = question_.machine;
    for (std::size_t g = 0; g < groups_.size(); ++g)
        groups_[g].apply(settings[g], machine);
    return machine;
}

std::vector<run::ProgramSource> LimitsTogether::sources_of(const machine::Machine& machine) const {
    std::vector<run::ProgramSource> sources;
    if (all_) {
        sources = run::worst_programs(machine, models_);
    } else {
        for (const AxisGroup& group : groups_)
            for (const int slot : group.slots)
                for (run::ProgramSource& moves : run::worst_moves(machine, models_, slot))
                    sources.push_back(std::move(moves));
    }
    sources.insert(sources.end(), question_.programs.begin(), question_.programs.end());
    return sources;
}

/// What else group g takes part in: its own moves have been asked, and those of others are as they were.
std::vector<run::ProgramSource> LimitsTogether::sources_beside(
    std::size_t g, const machine::Machine& machine) const {
    std::vector<run::ProgramSource> sources;
    const auto& slots = groups_[g].slots;
    const bool turns_corners = std::any_of(slots.begin(), slots.end(), [&](int slot) {
        const char letter = machine.axes[static_cast<std::size_t>(slot)].letter;
        return letter == 'X' || letter == 'Y';
    });
    if (all_ && turns_corners) sources = run::worst_corners(machine);
    sources.insert(sources.end(), question_.programs.begin(), question_.programs.end());
    return sources;
}

planner::Result<ProbeAnswer> LimitsTogether::first_unclear(
    const machine::Machine& machine, std::span<const run::ProgramSource> sources, double margin,
    const ProbeAnswer& last_no) const {
    std::vector<std::optional<planner::Result<ProbeAnswer>>> answers(sources.size());
    std::atomic<std::size_t> unclear{sources.size()};  // one that is: those after it need no answer
    tbb::parallel_for(std::size_t{0}, sources.size(), [&](std::size_t i) {
        if (i > unclear) return;
        answers[i] = probe(
            {machine, models_, sources.subspan(i, 1), margin, motors_, &last_no, &shared_.memo});
        if (!*answers[i] || !answers[i]->value().clear) unclear = i;
    });
    shared_.progress.asked();
    for (auto& answer : answers)
        if (answer && (!*answer || !answer->value().clear)) return *std::move(answer);
    return ProbeAnswer{};
}

/// Whose settings to lower; where it is nobody's motor (the processor), those of the busiest.
std::size_t LimitsTogether::group_of(int motor, const std::vector<GroupSettings>& settings) const {
    std::size_t busiest = 0;
    double most_hz = 0.0;
    for (std::size_t g = 0; g < groups_.size(); ++g) {
        if (motor >= 0 && (groups_[g].motors >> motor & 1U) != 0) return g;
        if ((groups_[g].motors & motors_) == 0) continue;
        const auto slot = static_cast<std::size_t>(groups_[g].slots.front());
        const double rate_hz = settings[g].speed_m_s * question_.machine.axes[slot].steps_per_m();
        if (rate_hz <= most_hz) continue;
        most_hz = rate_hz;
        busiest = g;
    }
    return busiest;
}

/// The gentlest of: less acceleration, less speed, less of all three.
bool LimitsTogether::cure(std::vector<GroupSettings>& settings, std::size_t g,
                          const ProbeAnswer& trouble, double margin,
                          LoweredSettings& lowered) const {
    const GroupSettings before = settings[g];
    const auto holds = [&](double scale, LoweredSettings which) {
        settings[g] = lower(before, which, scale);
        const machine::Machine machine = machine_at(settings);
        std::vector<run::ProgramSource> sources = sources_of(machine);
        if (!trouble.source.empty())
            std::erase_if(sources, [&](const run::ProgramSource& source) {
                return source.name() != trouble.source;
            });
        const auto answer =
            probe({machine, models_, sources, margin, groups_[g].motors, &trouble, &shared_.memo});
        shared_.progress.asked();
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

}  // namespace stepper_sim::limits
