#include "stepper_sim/controller/load_window.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <vector>

#include "planner/profile/trapezoid.hpp"

namespace stepper_sim::controller {
namespace {

constexpr std::int64_t kWindow = 1000, kWork = 50;
constexpr std::int64_t kTick_hz = 1'000'000;

/// By the definition alone: every whole interval back to the first interrupt at least a window ago.
double fullest(const std::vector<std::int64_t>& ticks) {
    double peak = 0.0;
    for (std::size_t k = 0; k < ticks.size(); ++k) {
        std::size_t first = k;
        while (first > 0 && ticks[k] - ticks[first] < kWindow)
            --first;
        const std::int64_t span = ticks[k] - ticks[first];
        if (span < kWindow) continue;
        peak = std::max(peak, static_cast<double>(static_cast<std::int64_t>(k - first) * kWork) /
                                  static_cast<double>(span));
    }
    return peak;
}

RC_GTEST_PROP(LoadWindow, PeakIsThatOfTheFullestWindow, ()) {
    LoadWindow load(kWindow);
    std::vector<std::int64_t> ticks;
    std::int64_t tick = 0;
    for (const int spacing : *rc::gen::container<std::vector<int>>(rc::gen::inRange(1, 400))) {
        ticks.push_back(tick += spacing);
        load.add(tick, kWork);
    }
    RC_ASSERT(load.peak() == fullest(ticks));
}

/// A move of `shares` events 101 ticks apart, beginning `start_tick` after the program did.
planner::MotorMove move_at(std::int64_t start_tick, int shares) {
    planner::MotorMove move;
    move.length_m = shares * 1e-4;
    move.start.advance(static_cast<double>(start_tick) / kTick_hz);
    const double speed_m_s = 1e-4 / 101e-6;
    move.profile = planner::trapezoid(move.length_m, speed_m_s, speed_m_s, speed_m_s, 1.0);
    return move;
}

// Moves passed over hardly below the peak; a close interrupt between them now and then makes the
// window it ends the fullest so far, if it holds as many of theirs as it should.
RC_GTEST_PROP(LoadWindow, KeptForLaterIsAsIfKeptAtOnce, ()) {
    const auto window = *rc::gen::element(kWindow, 4 * kWindow);
    LoadWindow at_once(window), later(window);
    std::int64_t tick = 0;
    const auto both = [&](std::int64_t spacing) {
        tick += spacing;
        RC_ASSERT(at_once.add(tick, kWork) == later.add(tick, kWork));
    };
    for (int i = 0; i < 60; ++i)  // a peak of 0.5
        both(100);
    const int moves = *rc::gen::inRange(1, 800);
    const int most = *rc::gen::element(3, 25);
    for (int i = 0; i < moves; ++i) {
        RestOfMove rest;
        rest.shares = static_cast<std::uint64_t>(*rc::gen::inRange(1, most));
        rest.next = static_cast<std::uint64_t>(*rc::gen::inRange(0, static_cast<int>(rest.shares)));
        const planner::MotorMove move = move_at(tick + 60, static_cast<int>(rest.shares));
        StepClock clock(move, kTick_hz);
        rest.clock = &clock;
        rest.share_m = 1e-4;
        rest.spacing = clock.least_ticks(rest.share_m);
        std::vector<std::int64_t> ticks(rest.shares - rest.next);
        clock.ticks_at_middles(rest.next, rest.share_m, ticks);
        rest.last_tick = ticks.back();
        const std::int64_t spacing = std::min(rest.spacing, ticks.front() - tick);
        if (!later.stays_below_peak(ticks.front(), spacing, kWork)) {
            both(120);
            continue;
        }
        for (const std::int64_t each : ticks)
            at_once.keep(each, kWork);
        if (*rc::gen::arbitrary<bool>()) {
            later.keep_later(rest, kWork);
        } else {
            std::vector<StepEvent> events;
            for (const std::int64_t each : ticks)
                events.push_back({each, 1, 1, 0});
            later.keep(events, kWork);
        }
        tick = rest.last_tick;
        const auto then = *rc::gen::inRange<std::int64_t>(0, window / 40);
        if (then == 0) both(*rc::gen::inRange(5, 100));
        if (then > window / 50) both(120);  // alone, and below the peak
        RC_ASSERT(at_once.peak() == later.peak());
    }
    for (int i = 0; i < 60; ++i)
        both(60);
    RC_ASSERT(at_once.peak() == later.peak());
}

}  // namespace
}  // namespace stepper_sim::controller
