#include "stepper_sim/capture/capture_match.hpp"

#include <algorithm>
#include <cstdlib>

namespace stepper_sim::capture {
namespace {

constexpr std::int64_t kTolerancePart = 4;  // of the shorter neighbouring interval
constexpr std::int64_t kHorizon_ps = 50'000'000'000;
constexpr std::size_t kRun = 12;  // pulses that must agree: no chance fit on a ramp or in a burst
// A difference adds this much and a matched pulse takes one away: half of the pulses wrong for a
// thousand of them is not this plan any more.
constexpr std::int64_t kTroubleOfOne = 3, kMostTrouble = 3000;

/// A side handed in to `reach_ps` has nothing more to come that could be paired with this time.
bool left_behind(std::int64_t trace_ps, std::int64_t reach_ps) {
    return trace_ps + kHorizon_ps < reach_ps;
}

}  // namespace

void PulseMatcher::plan(const PlannedPulse& pulse) {
    if (result_.lost) return;
    if (clock_->to_trace(pulse.time_ps) < begin_ps_ - kMostTolerance_ps && plan_.empty() &&
        result_.planned == 0) {
        ++result_.before;
        result_.before_net += pulse.direction;
        last_plan_ps_ = pulse.time_ps;
        return;
    }
    plan_.push_back(pulse);
}

std::int64_t PulseMatcher::tolerance_ps(std::size_t i) const {
    std::int64_t interval = kTolerancePart * kMostTolerance_ps;
    const std::int64_t before = i > 0 ? plan_[i - 1].time_ps : last_plan_ps_;
    if (before != INT64_MIN) interval = std::min(interval, plan_[i].time_ps - before);
    if (i + 1 < plan_.size())
        interval = std::min(interval, plan_[i + 1].time_ps - plan_[i].time_ps);
    return std::max(interval / kTolerancePart, resolution_ps_ + resolution_ps_ / 2);
}

std::int64_t PulseMatcher::lateness_ps(std::size_t i, std::size_t j) const {
    return seen_[j].time_ps - clock_->to_trace(plan_[i].time_ps);
}

bool PulseMatcher::fits(std::size_t i, std::size_t j) const {
    return std::abs(lateness_ps(i, j)) <= tolerance_ps(i);
}

void PulseMatcher::pop_plan() {
    ++result_.planned;
    result_.planned_net += plan_.front().direction;
    last_plan_ps_ = plan_.front().time_ps;
    plan_.pop_front();
}

void PulseMatcher::note_trouble(const Differences::Place& place) {
    trouble_ += kTroubleOfOne;
    if (trouble_ > kMostTrouble && !result_.lost) result_.lost = place;
}

void PulseMatcher::pair_off(bool late) {
    const Differences::Place place{seen_.front().time_ps, plan_.front().line};
    const std::int64_t lateness = lateness_ps(0, 0);
    if (late && !fits(0, 0)) {
        result_.late.add(place);
        if (std::abs(lateness) > std::abs(result_.latest_ps)) {
            result_.latest_ps = lateness;
            result_.latest = place;
        }
    } else {
        result_.deviation.add(std::abs(lateness));
        clock_->learn(plan_.front().time_ps, seen_.front().time_ps);
    }
    if (plan_.front().direction != seen_.front().direction) result_.wrong_direction.add(place);
    ++result_.matched;
    trouble_ = std::max<std::int64_t>(trouble_ - 1, 0);
    seen_.pop_front();
    pop_plan();
}

void PulseMatcher::drop_plan(std::int64_t end_ps) {
    const Differences::Place place{clock_->to_trace(plan_.front().time_ps), plan_.front().line};
    if (result_.matched == 0 && place.trace_ps < begin_ps_) {
        ++result_.before;
        result_.before_net += plan_.front().direction;
        last_plan_ps_ = plan_.front().time_ps;
        plan_.pop_front();
        return;
    }
    if (place.trace_ps > end_ps) {
        ++result_.after;
        plan_.pop_front();
        return;
    }
    result_.missing.add(place);
    note_trouble(place);
    pop_plan();
}

void PulseMatcher::drop_seen() {
    const Differences::Place place{seen_.front().time_ps, 0};
    result_.extra.add(place);
    note_trouble(place);
    seen_.pop_front();
}

PulseMatcher::Search PulseMatcher::runs_from(Pair at, const Reach& reach) const {
    for (std::size_t k = 0; k < kRun; ++k) {
        const std::size_t i = at.plan + k, j = at.seen + k;
        const bool planned = i < plan_.size(), seen = j < seen_.size();
        std::int64_t now_ps = kOver - kHorizon_ps - 1;  // both end here: only the true end tells
        if (planned)
            now_ps = clock_->to_trace(plan_[i].time_ps);
        else if (seen)
            now_ps = seen_[j].time_ps;
        // The next planned pulse too: it sets the tolerance.
        const bool plan_known = i + 1 < plan_.size() || left_behind(now_ps, reach.plan_ps);
        if (!plan_known || (!seen && !left_behind(now_ps, reach.seen_ps))) return Search::wait;
        if (!planned || !seen) return k > 0 ? Search::found : Search::none;
        if (!fits(i, j)) return Search::none;
    }
    return Search::found;
}

PulseMatcher::Search PulseMatcher::resume(Pair& at, const Reach& reach) const {
    const std::int64_t until_ps =
        kHorizon_ps + std::max(seen_.front().time_ps, clock_->to_trace(plan_.front().time_ps));
    std::size_t j = 0;
    for (std::size_t i = 0; i < plan_.size(); ++i) {
        const std::int64_t expected_ps = clock_->to_trace(plan_[i].time_ps);
        if (expected_ps > until_ps) return Search::none;
        const std::int64_t tolerance = tolerance_ps(i);
        while (j < seen_.size() && seen_[j].time_ps < expected_ps - tolerance)
            ++j;
        for (std::size_t k = j; k < seen_.size() && seen_[k].time_ps <= expected_ps + tolerance;
             ++k) {
            const Search run = runs_from({i, k}, reach);
            if (run == Search::none) continue;
            at = {i, k};
            return run;
        }
        if (j == seen_.size())
            return left_behind(until_ps, reach.seen_ps) ? Search::none : Search::wait;
    }
    return left_behind(until_ps, reach.plan_ps) ? Search::none : Search::wait;
}

void PulseMatcher::settle(Pair at) {
    const std::size_t paired = std::min(at.plan, at.seen);
    for (std::size_t k = paired; k < at.plan; ++k)
        drop_plan(INT64_MAX);
    for (std::size_t k = paired; k < at.seen; ++k)
        drop_seen();
    for (std::size_t k = 0; k < paired; ++k)
        pair_off(true);
    pair_off(false);  // the first that fits again: or the search would begin anew
}

void PulseMatcher::advance(const Reach& reach, std::int64_t end_ps) {
    const auto planned_ps = [&] { return clock_->to_trace(plan_.front().time_ps); };
    while (!result_.lost) {
        if (plan_.empty() || seen_.empty()) break;
        // The next planned pulse too: it sets the tolerance.
        if (plan_.size() < 2 && !left_behind(planned_ps(), reach.plan_ps)) return;
        if (fits(0, 0)) {
            pair_off(false);
            continue;
        }
        const std::int64_t lateness = lateness_ps(0, 0);
        if (lateness > kHorizon_ps) {
            drop_plan(end_ps);
            continue;
        }
        if (lateness < -kHorizon_ps) {
            drop_seen();
            continue;
        }
        Pair at{};
        const Search search = resume(at, reach);
        if (search == Search::wait) return;
        if (search == Search::found)
            settle(at);
        else if (lateness > 0)
            drop_plan(end_ps);
        else
            drop_seen();
    }
    while (!result_.lost && !plan_.empty() && left_behind(planned_ps(), reach.seen_ps))
        drop_plan(end_ps);
    while (!result_.lost && !seen_.empty() && left_behind(seen_.front().time_ps, reach.plan_ps))
        drop_seen();
    if (result_.lost) {
        plan_.clear();
        seen_.clear();
    }
}

}  // namespace stepper_sim::capture
