#include "stepper_sim/controller/step_clock.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <array>
#include <vector>

#include "planner/profile/motion.hpp"
#include "planner/profile/trapezoid.hpp"

namespace stepper_sim::controller {
namespace {

constexpr std::int64_t kTick_hz = 1'000'000'000;
constexpr double kLength_m = 0.01;

planner::MotorMove move_of(int entry, int nominal, int exit) {
    planner::MotorMove move;
    move.length_m = kLength_m;
    move.start = {86'400, 0.125};  // a day in, at an exact binary fraction
    move.profile = planner::trapezoid(kLength_m, entry * 1e-3, nominal * 1e-3, exit * 1e-3, 2.0);
    return move;
}

RC_GTEST_PROP(StepClock, InvertsTheMotionOfEveryPhase, ()) {
    const planner::MotorMove move =
        move_of(*rc::gen::inRange(0, 100), *rc::gen::inRange(100, 300), *rc::gen::inRange(0, 100));
    StepClock clock(move, kTick_hz);
    for (int i = 0; i <= 100; ++i) {
        const double distance_m = kLength_m * i / 100.0;
        const std::int64_t tick = clock.tick_at(distance_m) - 86'400 * kTick_hz - kTick_hz / 8;
        const double time_s = static_cast<double>(tick) / static_cast<double>(kTick_hz);
        // Half a tick at the speed of that moment, and half a tick squared from rest.
        const double slack_m = 0.5 / kTick_hz * 0.31 + 1e-15;
        RC_ASSERT(std::abs(planner::distance_at(move.profile, time_s) - distance_m) < slack_m);
    }
}

TEST(StepClock, GivesTheSameTickInAnyOrder) {
    const planner::MotorMove move = move_of(0, 150, 0);
    StepClock forward(move, kTick_hz), backward(move, kTick_hz);
    std::vector<std::int64_t> ticks;
    for (int i = 0; i <= 50; ++i)
        ticks.push_back(forward.tick_at(kLength_m * i / 50.0));
    for (int i = 50; i >= 0; --i) {
        EXPECT_EQ(ticks[static_cast<std::size_t>(i)], backward.tick_at(kLength_m * i / 50.0));
    }
}

// One by one, from place to place, and in any order: the same ticks.
RC_GTEST_PROP(StepClock, GivesTheSameTicksInOneGo, ()) {
    const planner::MotorMove move =
        move_of(*rc::gen::inRange(0, 100), *rc::gen::inRange(100, 300), *rc::gen::inRange(0, 100));
    StepClock clock(move, kTick_hz);
    const auto shares = *rc::gen::inRange<std::size_t>(1, 40);
    const double share_m = kLength_m / static_cast<double>(shares);
    std::vector<double> places_m;
    std::vector<std::int64_t> one_by_one, middles(shares), scattered(shares);
    for (std::size_t i = 0; i < shares; ++i) {
        places_m.push_back((static_cast<double>(i) + 0.5) * share_m);
        one_by_one.push_back(clock.tick_at(places_m.back()));
    }
    clock.ticks_at_middles(0, share_m, middles);
    RC_ASSERT(middles == one_by_one);
    std::reverse(places_m.begin(), places_m.end());
    std::reverse(one_by_one.begin(), one_by_one.end());
    clock.ticks_at(places_m, scattered);
    RC_ASSERT(scattered == one_by_one);
}

// The least is reached at the top speed, and no rounding of ticks falls below it.
RC_GTEST_PROP(StepClock, NoTwoPlacesAreCloserThanTheLeastTicks, ()) {
    const planner::MotorMove move =
        move_of(*rc::gen::inRange(0, 100), *rc::gen::inRange(100, 300), *rc::gen::inRange(0, 100));
    // 0.3 to 3 ticks at the top speed, and 1 ps: the ideal style's.
    for (const std::int64_t tick_hz :
         std::array<std::int64_t, 3>{30'000, kTick_hz, 1'000'000'000'000}) {
        const int shares = *rc::gen::inRange(3, 2000);
        const double share_m = kLength_m / shares;
        StepClock clock(move, tick_hz);
        const std::int64_t least = clock.least_ticks(share_m);
        std::vector<std::int64_t> ticks(static_cast<std::size_t>(shares));
        clock.ticks_at_middles(0, share_m, ticks);
        std::int64_t shortest = INT64_MAX;
        for (std::size_t i = 1; i < ticks.size(); ++i)
            shortest = std::min(shortest, ticks[i] - ticks[i - 1]);
        RC_ASSERT(least <= shortest);
        const bool cruises = move.profile.count == planner::kMaxPhases &&
                             move.profile.phases[1].duration_s * static_cast<double>(tick_hz) >
                                 3.0 * static_cast<double>(shortest);
        if (cruises) RC_ASSERT(least >= shortest - 2);
    }
}

TEST(StepClock, PeriodBeginsAtOrAfterTheMoment) {
    planner::MotorMove move;
    move.length_m = 1.0;
    move.profile = {{planner::Phase{1.0, 0.0, 1.0, 0.0}}, 1, 1.0};
    StepClock clock(move, 8);  // a period of 1/8 s, exact in binary
    EXPECT_EQ(clock.period_at(0.25), 2);
    EXPECT_EQ(clock.period_at(0.2501), 3);
}

}  // namespace
}  // namespace stepper_sim::controller
