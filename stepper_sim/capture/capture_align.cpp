#include "stepper_sim/capture/capture_align.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace stepper_sim::capture {
namespace {

// Guesses.
constexpr double kIntervalTolerance = 0.1;
constexpr double kUpsideDown = 0.98;  // a stroke the other way is not as good as the stroke itself
constexpr double kDull = 0.2;  // change of intervals, as a sum of logarithms, that tells nothing
constexpr std::size_t kSoon = 256;  // pulses after which a place that is mostly wrong is given up

}  // namespace

CaptureAligner::CaptureAligner(const CaptureHead& head, std::vector<std::size_t> captured,
                               std::int64_t resolution_ps)
    : head_(head), captured_(std::move(captured)), resolution_ps_(resolution_ps) {
    for (std::size_t m = 0; m < head.size(); ++m) {
        if (head[m].size() > head[motor_].size()) motor_ = m;
        if (head[m].empty()) continue;
        head_end_ps_ = std::max(head_end_ps_, head[m].back().time_ps);
        head_begin_ps_ = std::min(head_begin_ps_, head[m].front().time_ps);
    }
    if (!head[motor_].empty()) choose_anchors();
}

void CaptureAligner::choose_anchors() {
    const std::vector<CapturedPulse>& pulses = head_[motor_];
    window_ = std::min(kWindow, pulses.size() - 1);
    const std::size_t places = pulses.size() - window_;
    // How much the intervals of the window at each place change, as a running sum.
    std::vector<double> change(pulses.size(), 0.0);
    for (std::size_t i = 2; i < pulses.size(); ++i) {
        const auto one = static_cast<double>(pulses[i - 1].time_ps - pulses[i - 2].time_ps);
        const auto two = static_cast<double>(pulses[i].time_ps - pulses[i - 1].time_ps);
        const double turn = pulses[i].direction != pulses[i - 1].direction ? 1.0 : 0.0;
        const double step = one > 0.0 && two > 0.0 ? std::abs(std::log(two / one)) : 0.0;
        change[i] = std::min(step, 1.0) + turn;
    }
    for (std::size_t i = 1; i < change.size(); ++i)
        change[i] += change[i - 1];
    const auto telling = [&](std::size_t at) { return change[at + window_] - change[at]; };
    std::vector<std::size_t> order(places);
    for (std::size_t i = 0; i < places; ++i)
        order[i] = i;
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return telling(a) > telling(b); });
    for (const std::size_t at : order) {
        if (anchors_.size() == kMostAnchors) break;
        // A stretch as even as a cruise fits thousands of places: one is enough.
        const double least = std::max(0.5 * telling(order.front()), kDull);
        if (!anchors_.empty() && telling(at) < least) break;
        const bool apart = std::none_of(anchors_.begin(), anchors_.end(), [&](std::size_t other) {
            return (at > other ? at - other : other - at) <= window_;
        });
        if (apart) anchors_.push_back(at);
    }
}

void CaptureAligner::plan(std::size_t motor, const PlannedPulse& pulse) {
    if (done()) return;
    plan_now_ps_ = pulse.time_ps;
    std::deque<PlannedPulse>& kept = plan_[motor];
    kept.push_back(pulse);
    if (kept.size() > kMostKept) kept.pop_front();
    if (motor == motor_ && kept.size() > window_) try_anchors();
    while (!waiting_.empty() &&
           (waiting_.size() > kMostWaiting ||
            plan_now_ps_ - waiting_.front().plan_ps > head_end_ps_ - waiting_.front().trace_ps)) {
        judge(waiting_.front());
        waiting_.pop_front();
    }
}

void CaptureAligner::try_anchors() {
    const std::deque<PlannedPulse>& plan = plan_[motor_];
    const std::vector<CapturedPulse>& seen = head_[motor_];
    const std::size_t from = plan.size() - 1 - window_;
    for (const std::size_t anchor : anchors_) {
        // A direction line that is read upside down shows the other way throughout.
        const int way = plan[from].direction * seen[anchor].direction;
        bool same = true;
        for (std::size_t k = 1; same && k <= window_; ++k) {
            const std::int64_t planned = plan[from + k].time_ps - plan[from + k - 1].time_ps;
            const std::int64_t shown = seen[anchor + k].time_ps - seen[anchor + k - 1].time_ps;
            const auto most =
                static_cast<std::int64_t>(static_cast<double>(planned) * kIntervalTolerance) +
                2 * resolution_ps_;
            same = std::abs(shown - planned) <= most &&
                   plan[from + k].direction * seen[anchor + k].direction == way;
        }
        if (!same) continue;
        const auto planned = static_cast<double>(plan[from + window_].time_ps - plan[from].time_ps);
        const auto shown =
            static_cast<double>(seen[anchor + window_].time_ps - seen[anchor].time_ps);
        waiting_.push_back({plan[from].time_ps, seen[anchor].time_ps,
                            planned > 0.0 ? shown / planned - 1.0 : 0.0});
    }
}

double CaptureAligner::score(const CaptureClock& clock) const {
    // Both what the trace shows and what the plan has must be found in the other.
    std::size_t asked = 0, planned = 0;
    double found = 0.0;
    for (const std::size_t m : captured_) {
        const std::deque<PlannedPulse>& plan = plan_[m];
        if (plan.empty()) {
            asked += head_[m].size();
            continue;
        }
        // What was dropped from a full store is not held against the place.
        const bool dropped = plan.size() >= kMostKept;
        const std::int64_t begin_ps = clock.to_trace(plan.front().time_ps);
        std::size_t same = 0, opposite = 0, of_motor = 0;
        std::size_t i = std::max<std::size_t>(count_until(plan, head_begin_ps_, clock), 1) - 1;
        for (const CapturedPulse& pulse : head_[m]) {
            if (dropped && pulse.time_ps < begin_ps) continue;
            const int way = found_at(plan, i, pulse, clock, resolution_ps_);
            ++work_;
            same += way > 0 ? 1U : 0U;
            opposite += way < 0 ? 1U : 0U;
            if (++of_motor == kSoon && 2 * std::max(same, opposite) < kSoon) return 0.0;
        }
        asked += of_motor;
        planned += count_until(plan, head_end_ps_, clock) -
                   count_until(plan, head_begin_ps_ - 2 * resolution_ps_, clock);
        found += std::max(static_cast<double>(same), kUpsideDown * static_cast<double>(opposite));
    }
    const std::size_t most = std::max(asked, planned);
    return most > 0 ? found / static_cast<double>(most) : 0.0;
}

void CaptureAligner::judge(const Waiting& place) {
    const std::int64_t offset_ps = place.trace_ps - place.plan_ps;
    for (const double slope : {0.0, place.slope}) {
        // The slope turns about the place that is known to fit.
        const auto turned = static_cast<std::int64_t>(slope * static_cast<double>(place.plan_ps));
        const CaptureClock clock(offset_ps - turned, slope);
        const double fits = score(clock);
        if (fits <= score_) continue;
        score_ = fits;
        clock_ = clock;
    }
}

void CaptureAligner::finish() {
    for (const Waiting& place : waiting_)
        if (!done()) judge(place);
    waiting_.clear();
}

}  // namespace stepper_sim::capture
