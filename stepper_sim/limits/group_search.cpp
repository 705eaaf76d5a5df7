#include "stepper_sim/limits/group_search.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "planner/lookahead/corner.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/limits/highest.hpp"
#include "stepper_sim/limits/search_start.hpp"
#include "stepper_sim/run/worst_moves.hpp"

namespace stepper_sim::limits {

namespace {

// Guesses of how a search is cut up: they decide where it looks and how long it takes, not what holds.
constexpr double kCarriedShare = 0.5;       // of the base acceleration, which more speed must leave
constexpr double kLowestShare = 0.05;       // what needs less than that is another machine
constexpr int kMostHalvings = 6;            // of the base speed: to a 32nd
constexpr double kSettingsLowest = 1e-7;    // of the cap: 10 um/s, or 1 mm/s^2
constexpr double kSettingsFoundTo = 1.005;  // these questions cost nothing
constexpr double kFirstShare = 0.6;  // where moves rather than settings bind, they do so about here

run::Binding or_else(run::Binding binding, run::Binding otherwise) {
    return binding == run::Binding::none ? otherwise : binding;
}

}  // namespace

ProbeAnswer GroupSearch::ask(const GroupSettings& settings, double margin) {
    machine::Machine trial = machine_;
    group_.apply(settings, trial);
    std::vector<run::ProgramSource> sources;
    for (const int slot : group_.slots)
        for (run::ProgramSource& moves : run::worst_moves(trial, models_, slot))
            sources.push_back(std::move(moves));
    auto answer = probe({trial, models_, sources, margin, group_.motors, &last_no_, &shared_.memo});
    shared_.progress.asked();
    if (answer) {
        if (!answer.value().clear) last_no_ = answer.value();
        return std::move(answer).value();
    }
    // Moves of our own are always readable; were they not, nothing would be proved.
    ProbeAnswer broken;
    broken.clear = false;
    broken.why = answer.diagnostics().front().found;
    return broken;
}

/// What needs no motion to be judged: it costs next to nothing.
ProbeAnswer GroupSearch::ask_of_settings(const GroupSettings& settings) const {
    machine::Machine trial = machine_;
    group_.apply(settings, trial);
    const auto answer = probe({trial, models_, {}, 0.0, group_.motors});
    return answer.value();
}

/// The highest value of one setting with the others as in `at`: first what the settings alone allow, then from `first_share` of it on
/// what the moves allow. `beyond`: why it is not higher.
std::optional<double> GroupSearch::search(GroupSettings at, const LimitedSetting& setting,
                                          double cap, double first_share, ProbeAnswer& beyond) {
    const auto holds_by = [&](auto&& question) {
        return [&, question](double value) {
            at.*setting.value = value;
            const ProbeAnswer answer = question(at);
            if (!answer.clear) beyond = answer;
            return answer.clear;
        };
    };
    beyond = {};
    const auto allowed =
        highest(cap, cap, holds_by([&](const GroupSettings& s) { return ask_of_settings(s); }),
                kSettingsFoundTo, kSettingsLowest);
    if (!allowed) return std::nullopt;
    const auto found = highest(first_share * *allowed, *allowed,
                               holds_by([&](const GroupSettings& s) { return ask(s, 0.0); }));
    if (!found) return std::nullopt;
    return check::words::floor_digits(*found, kSettingDigits);
}

/// Likewise up to where more has no effect, which is then the reason.
std::optional<double> GroupSearch::search_to_cap(const GroupSettings& at,
                                                 const LimitedSetting& setting,
                                                 double first_share) {
    const SettingCap cap = cap_of(setting, at);
    ProbeAnswer& reason = found_.reasons.*setting.reason;
    const auto found = search(at, setting, cap.value, first_share, reason);
    if (found && *found >= check::words::floor_digits(cap.value, kSettingDigits)) {
        reason.binds = cap.binds;
        reason.why = cap.why;
    }
    return found;
}

SettingCap GroupSearch::cap_of(const LimitedSetting& setting, const GroupSettings& at) const {
    if (setting.value == kSpeedSetting.value)
        return {reachable_m_s(at.acceleration_m_s2), run::Binding::travel,
                "the travel is too short to reach more"};
    if (setting.value == kStepSetting.value)
        return {at.speed_m_s, run::Binding::top_speed, "a step above the top speed has no meaning"};
    const auto& path = machine_.planning.path_acceleration;
    return {path ? path->value() : machine::kMaxAcceleration_m_s2, run::Binding::path_cap,
            "a higher one has no effect under the cap on acceleration along the path"};
}

bool GroupSearch::raise(const LimitedSetting& setting, GroupSettings& at) {
    if (setting.value == kStepSetting.value &&
        !planner::row_of(machine_.planning.corner).of_each_axis)
        return false;
    const SettingCap cap = cap_of(setting, at);
    const double most = check::words::floor_digits(cap.value, kSettingDigits);
    if (at.*setting.value >= most) {
        ProbeAnswer there;
        there.binds = cap.binds;
        there.why = cap.why;
        note_beyond(setting, there);
        return false;
    }
    const double next = std::min(next_setting(at.*setting.value), most);
    if (!(next > at.*setting.value)) return false;  // nothing comes after 0
    at.*setting.value = next;
    return true;
}

void GroupSearch::note_beyond(const LimitedSetting& setting, const ProbeAnswer& answer) {
    found_.reasons.*setting.reason = answer;
    ProbeAnswer& with_margin = found_.reasons_with_margin.*setting.reason;
    if (found_.share >= 1.0 - margin_) with_margin = answer;
}

/// From rest to rest inside the travel the speed peaks half way: v^2 = a L.
double GroupSearch::reachable_m_s(double acceleration_m_s2) const {
    double least_m_s = machine::kMaxSpeed_m_s;
    for (const int slot : group_.slots) {
        const machine::Axis& axis = machine_.axes[static_cast<std::size_t>(slot)];
        if (!axis.travel_min || !axis.travel_max) continue;
        const double travel_m = axis.travel_max->value() - axis.travel_min->value();
        least_m_s = std::min(least_m_s, std::sqrt(acceleration_m_s2 * travel_m));
    }
    return least_m_s;
}

void GroupSearch::find_speed(GroupSettings& at) {
    GroupSettings slower = at;
    slower.acceleration_m_s2 *= kCarriedShare;
    const auto speed = search_to_cap(slower, kSpeedSetting, 1.0);
    if (!speed || *speed < at.speed_m_s) return;  // the base itself holds
    at.speed_m_s = *speed;
}

void GroupSearch::find_step(GroupSettings& at) {
    if (!planner::row_of(machine_.planning.corner).of_each_axis) return;
    if (const auto step = search_to_cap(at, kStepSetting, kFirstShare)) at.step_m_s = *step;
}

/// The highest acceleration up to the base speed; where none holds, up to a half of it, a quarter...
bool GroupSearch::find_base(GroupSettings& at) {
    for (int halvings = 0; halvings < kMostHalvings; ++halvings) {
        if (const auto found = search_to_cap(at, kAccelerationSetting, kFirstShare)) {
            at.acceleration_m_s2 = *found;
            return true;
        }
        at.speed_m_s *= 0.5;
        at.step_m_s = std::min(at.step_m_s, at.speed_m_s);
    }
    found_.why_not = found_.reasons.acceleration.why;
    return false;
}

/// Up to that of the base: what does not hold up to the base speed does not hold beyond. Down from it towards what the search for speed
/// held with, since slips come in bands: on the way up it could end below one.
void GroupSearch::find_acceleration(GroupSettings& at) {
    const double base_m_s2 = at.acceleration_m_s2;
    ProbeAnswer beyond;
    const auto holds = [&](double acceleration_m_s2) {
        at.acceleration_m_s2 = acceleration_m_s2;
        const ProbeAnswer answer = ask(at, 0.0);
        if (!answer.clear) beyond = answer;
        return answer.clear;
    };
    if (holds(base_m_s2)) return;
    at.acceleration_m_s2 = check::words::floor_digits(
        highest_between(kCarriedShare * base_m_s2, base_m_s2, holds), kSettingDigits);
    found_.reasons.acceleration = beyond;
}

bool GroupSearch::find_just_holds() {
    GroupSettings at = start_settings(machine_, models_, group_);
    if (!find_base(at)) return false;
    find_speed(at);
    find_acceleration(at);
    find_step(at);
    found_.just_holds = at;
    return true;
}

/// The largest share of all three together that keeps the margin.
void GroupSearch::find_margin() {
    found_.reasons_with_margin = found_.reasons;
    const double most = 1.0 - margin_;
    ProbeAnswer beyond;
    const auto keeps = [&](double share) {
        const ProbeAnswer answer = ask(found_.just_holds.times(share), margin_);
        if (!answer.clear) beyond = answer;
        return answer.clear;
    };
    found_.share = most;
    found_.keeps_margin = true;
    if (keeps(most)) return;
    double low = most, high;
    do {
        high = low;
        low /= std::numbers::sqrt2;
        if (low < kLowestShare) {
            found_.keeps_margin = false;
            found_.why_not = beyond.why;
            return;
        }
    } while (!keeps(low));
    found_.share = highest_between(low, high, keeps);
    found_.reasons_with_margin = {beyond, beyond, beyond};
}

void GroupSearch::run() {
    found_.holds = find_just_holds();
    if (found_.holds) find_margin();
}

GroupSettings GroupSearch::lowered(const GroupSettings& just_holding) const {
    if (!found_.holds) return just_holding;
    return just_holding.times(found_.share);
}

void GroupSearch::note_cure(const ProbeAnswer& answer, LoweredSettings which, bool at_margin) {
    for (GroupReasons* reasons : {&found_.reasons, &found_.reasons_with_margin}) {
        if (reasons == &found_.reasons && at_margin) continue;
        if (which != LoweredSettings::speed) reasons->acceleration = answer;
        if (which != LoweredSettings::acceleration) reasons->speed = answer;
        if (which == LoweredSettings::all) reasons->step = answer;
    }
}

AxisLimits GroupSearch::axis_limits(int slot, const machine::AxisSettings& present,
                                    const machine::AxisSettings& just_holds,
                                    const machine::AxisSettings& with_margin) const {
    const auto limit = [&](double now, double high, double low, const ProbeAnswer& binds,
                           const ProbeAnswer& binds_with_margin) {
        SettingLimit out;
        out.present = now;
        if (!found_.holds) return out;
        out.just_holds = high;
        out.with_margin = low;
        out.binds = binds.binds;
        out.why = binds.why;
        out.binds_with_margin = or_else(binds_with_margin.binds, binds.binds);
        out.why_with_margin = binds_with_margin.why;
        return out;
    };
    AxisLimits axis;
    axis.slot = slot;
    axis.letter = machine_.axes[static_cast<std::size_t>(slot)].letter;
    axis.holds = found_.holds;
    axis.keeps_margin = found_.keeps_margin;
    axis.why_not = found_.why_not;
    const GroupReasons& just = found_.reasons;
    const GroupReasons& margined = found_.reasons_with_margin;
    axis.speed = limit(present.max_speed.value(), just_holds.max_speed.value(),
                       with_margin.max_speed.value(), just.speed, margined.speed);
    axis.acceleration =
        limit(present.max_acceleration.value(), just_holds.max_acceleration.value(),
              with_margin.max_acceleration.value(), just.acceleration, margined.acceleration);
    if (planner::row_of(machine_.planning.corner).of_each_axis)
        axis.step = limit(present.speed_step.value(), just_holds.speed_step.value(),
                          with_margin.speed_step.value(), just.step, margined.step);
    return axis;
}

}  // namespace stepper_sim::limits
