// Pulses of a plan and of a trace by the microsecond: what counts as in place, late, missing, extra, and as another program.
#include "stepper_sim/capture/capture_match.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>

namespace {

using namespace stepper_sim;

constexpr std::int64_t kUs = 1'000'000;  // picoseconds
constexpr std::int64_t kResolution_ps = 10'000;

struct Pulses {
    std::vector<capture::PlannedPulse> plan;
    std::vector<capture::CapturedPulse> seen;
    std::int64_t begin_ps = 0, end_ps = 0;
};

/// `count` pulses at an even interval, seen as planned.
Pulses even(int count, std::int64_t interval_us) {
    Pulses pulses;
    for (int i = 0; i < count; ++i) {
        const std::int64_t time_ps = (i + 1) * interval_us * kUs;
        pulses.plan.push_back({time_ps, static_cast<std::uint64_t>(i + 1), 1});
        pulses.seen.push_back({time_ps, 1});
    }
    pulses.end_ps = (count + 1) * interval_us * kUs;
    return pulses;
}

capture::MotorMatch matched(const Pulses& pulses) {
    capture::CaptureClock clock;
    capture::PulseMatcher matcher(clock, kResolution_ps);
    matcher.begin_at(pulses.begin_ps);
    for (const capture::PlannedPulse& pulse : pulses.plan)
        matcher.plan(pulse);
    for (const capture::CapturedPulse& pulse : pulses.seen)
        matcher.seen(pulse);
    matcher.advance({}, pulses.end_ps);
    return matcher.result();
}

capture::MotorMatch with_one_off(std::int64_t interval_us, std::int64_t off_us) {
    Pulses pulses = even(40, interval_us);
    pulses.seen[20].time_ps += off_us * kUs;
    return matched(pulses);
}

TEST(PulseMatcher, AQuarterOfTheIntervalIsInPlaceAndMoreIsLate) {
    EXPECT_EQ(with_one_off(400, 95).late.count, 0);
    EXPECT_EQ(with_one_off(400, 95).deviation.longest_ps(), 95 * kUs);
    const capture::MotorMatch late = with_one_off(400, 105);
    EXPECT_EQ(late.late.count, 1);
    EXPECT_EQ(late.latest_ps, 105 * kUs);
    EXPECT_EQ(late.latest.line, 21U);
    EXPECT_EQ(late.matched, 40);
    EXPECT_EQ(with_one_off(400, -105).latest_ps, -105 * kUs);
}

TEST(PulseMatcher, WhatIsInPlaceBetweenTwoLateOnesIsNotLate) {
    Pulses pulses = even(60, 400);
    pulses.seen[20].time_ps += 105 * kUs;
    pulses.seen[25].time_ps += 105 * kUs;
    EXPECT_EQ(matched(pulses).late.count, 2);
}

TEST(PulseMatcher, AFifthOfAMillisecondIsTheMostHoweverSlowTheMotor) {
    EXPECT_EQ(with_one_off(10'000, 195).late.count, 0);
    EXPECT_EQ(with_one_off(10'000, 205).late.count, 1);
}

// Held for 12 intervals, then 20 % faster until caught up: the first two agree by chance with the pulses 12 further on.
TEST(PulseMatcher, PulsesHeldUpAndCaughtUpAreLateEvenWhereSomeFitOthersByChance) {
    Pulses pulses = even(200, 400);
    std::int64_t next_ps = pulses.plan[32].time_ps;
    for (std::size_t i = 20; next_ps > pulses.plan[i].time_ps; ++i, next_ps += 320 * kUs)
        pulses.seen[i].time_ps = next_ps;
    const capture::MotorMatch match = matched(pulses);
    EXPECT_EQ(match.missing.count, 0);
    EXPECT_EQ(match.extra.count, 0);
    EXPECT_GT(match.late.count, 50);
    EXPECT_EQ(match.latest_ps, 4800 * kUs);
}

TEST(PulseMatcher, OneLostIsMissingWithItsLineAndOneMoreIsExtra) {
    Pulses pulses = even(60, 400);
    pulses.seen.erase(pulses.seen.begin() + 20);
    const capture::MotorMatch lost = matched(pulses);
    EXPECT_EQ(lost.missing.count, 1);
    EXPECT_EQ(lost.extra.count + lost.late.count, 0);
    EXPECT_EQ(lost.missing.places.at(0).line, 21U);
    EXPECT_EQ(lost.missing.places.at(0).trace_ps, 8400 * kUs);

    pulses = even(60, 400);
    pulses.seen.insert(pulses.seen.begin() + 20, {pulses.seen[19].time_ps + 200 * kUs, 1});
    const capture::MotorMatch more = matched(pulses);
    EXPECT_EQ(more.extra.count, 1);
    EXPECT_EQ(more.missing.count + more.late.count, 0);
}

TEST(PulseMatcher, WhatEitherSideHasLeftAtTheEndIsToldToo) {
    Pulses pulses = even(60, 400);
    pulses.seen.resize(55);
    EXPECT_EQ(matched(pulses).missing.count, 5);
    pulses = even(60, 400);
    pulses.plan.resize(55);
    EXPECT_EQ(matched(pulses).extra.count, 5);
}

TEST(PulseMatcher, WhatThePlanHasBeforeAndAfterTheTraceIsNotMissing) {
    Pulses pulses = even(60, 400);
    for (std::size_t i = 0; i < 4; ++i)
        pulses.plan[i].direction = -1;
    pulses.begin_ps = pulses.plan[10].time_ps - 100 * kUs;
    pulses.end_ps = pulses.plan[49].time_ps + 100 * kUs;
    pulses.seen.erase(pulses.seen.begin() + 50, pulses.seen.end());
    pulses.seen.erase(pulses.seen.begin(), pulses.seen.begin() + 10);
    const capture::MotorMatch match = matched(pulses);
    EXPECT_EQ(match.before, 10);
    EXPECT_EQ(match.before_net, 6 - 4);
    EXPECT_EQ(match.after, 10);
    EXPECT_EQ(match.matched, 40);
    EXPECT_EQ(match.missing.count + match.extra.count + match.late.count, 0);
}

// The trace begins just after the fourth: too near for the plan to leave it out at once.
TEST(PulseMatcher, APulseJustBeforeTheTraceIsNotMissing) {
    Pulses pulses = even(60, 400);
    for (std::size_t i = 0; i < 4; ++i)
        pulses.plan[i].direction = -1;
    pulses.begin_ps = pulses.plan[3].time_ps + 50 * kUs;
    pulses.seen.erase(pulses.seen.begin(), pulses.seen.begin() + 4);
    const capture::MotorMatch match = matched(pulses);
    EXPECT_EQ(match.before, 4);
    EXPECT_EQ(match.before_net, -4);
    EXPECT_EQ(match.missing.count, 0);
}

TEST(PulseMatcher, CountsDirectionsOfThePlanAndThoseThatDiffer) {
    Pulses pulses = even(60, 400);
    for (std::size_t i = 0; i < 20; ++i)
        pulses.plan[i].direction = pulses.seen[i].direction = -1;
    pulses.seen[30].direction = -1;
    const capture::MotorMatch match = matched(pulses);
    EXPECT_EQ(match.planned, 60);
    EXPECT_EQ(match.planned_net, 40 - 20);
    EXPECT_EQ(match.wrong_direction.count, 1);
    EXPECT_EQ(match.wrong_direction.places.at(0).line, 31U);
}

/// Two gaps of so many pulses with good ones between.
capture::MotorMatch with_gaps(int gap, int between) {
    Pulses pulses = even(100 + gap + between + gap + 100, 400);
    const auto at = [&](int i) { return pulses.seen.begin() + i; };
    pulses.seen.erase(at(100 + gap + between), at(100 + gap + between + gap));
    pulses.seen.erase(at(100), at(100 + gap));
    return matched(pulses);
}

// Three points for a difference, one back for a match, 3000 at most (capture_match.cpp).
TEST(PulseMatcher, AThousandDifferencesAreAnotherProgramUnlessMatchesMakeUpForThem) {
    EXPECT_EQ(with_gaps(450, 0).missing.count, 900);
    EXPECT_FALSE(with_gaps(450, 0).lost);
    EXPECT_TRUE(with_gaps(550, 0).lost);
    EXPECT_FALSE(with_gaps(900, 2800).lost);
    EXPECT_EQ(with_gaps(900, 2800).missing.count, 1800);
}

/// Both sides handed in bit by bit, as from files; returns the most pulses that ever waited.
std::size_t most_waiting(const Pulses& pulses, capture::MotorMatch& match) {
    constexpr std::int64_t kStep_ps = 5000 * kUs;
    capture::CaptureClock clock;
    capture::PulseMatcher matcher(clock, kResolution_ps);
    matcher.begin_at(pulses.begin_ps);
    std::size_t most = 0, planned = 0, seen = 0;
    for (std::int64_t now_ps = 0; now_ps < pulses.end_ps; now_ps += kStep_ps) {
        for (; planned < pulses.plan.size() && pulses.plan[planned].time_ps <= now_ps; ++planned)
            matcher.plan(pulses.plan[planned]);
        for (; seen < pulses.seen.size() && pulses.seen[seen].time_ps <= now_ps; ++seen)
            matcher.seen(pulses.seen[seen]);
        matcher.advance({now_ps, now_ps}, now_ps);
        most = std::max(most, matcher.waiting());
    }
    for (; planned < pulses.plan.size(); ++planned)
        matcher.plan(pulses.plan[planned]);
    for (; seen < pulses.seen.size(); ++seen)
        matcher.seen(pulses.seen[seen]);
    matcher.advance({}, pulses.end_ps);
    match = matcher.result();
    return most;
}

// At 1 ms: the 50 of a search, 50 more until the other side is known to be silent, 5 of a step, 2 for rounding.
constexpr std::size_t kMostAt1ms = 107;

capture::MotorMatch matched_with_few_waiting(const Pulses& pulses) {
    capture::MotorMatch match;
    EXPECT_LE(most_waiting(pulses, match), kMostAt1ms);
    const capture::MotorMatch at_once = matched(pulses);
    EXPECT_EQ(match.matched, at_once.matched);
    EXPECT_EQ(match.missing.count, at_once.missing.count);
    EXPECT_EQ(match.extra.count, at_once.extra.count);
    return match;
}

TEST(PulseMatcher, ALineThatDiesLeavesNoMoreThanTwoHorizonsOfThePlanWaiting) {
    Pulses pulses = even(1000, 1000);
    pulses.seen.resize(100);
    EXPECT_EQ(matched_with_few_waiting(pulses).missing.count, 900);
    pulses.seen.back().time_ps += 500 * kUs;  // fits nothing and has no successor
    matched_with_few_waiting(pulses);
}

TEST(PulseMatcher, ALineThatRunsOnAloneLeavesNoMoreThanTwoHorizonsOfItWaiting) {
    Pulses pulses = even(1000, 1000);
    pulses.plan.resize(100);
    EXPECT_EQ(matched_with_few_waiting(pulses).extra.count, 900);
    pulses.plan.back().time_ps += 500 * kUs;
    matched_with_few_waiting(pulses);
}

// The 12 pulses that must agree last longer than the horizon: a line that is slow is not silent.
TEST(PulseMatcher, SlowPulsesHandedInBitByBitPairAsAllAtOnce) {
    Pulses pulses = even(60, 10'000);
    pulses.seen[20].time_ps += 500 * kUs;
    pulses.seen.erase(pulses.seen.begin() + 40);
    capture::MotorMatch match;
    most_waiting(pulses, match);
    EXPECT_EQ(match.late.count, 1);
    EXPECT_EQ(match.missing.count, 1);
    EXPECT_EQ(match.extra.count, 0);
    EXPECT_EQ(match.matched, 59);
}

}  // namespace
