// What one motor's lines show, edge by edge: widths, set-up and hold from both sides of their limits, jitter, speed, unknown levels.
#include "stepper_sim/capture/capture_motor.hpp"

#include <gtest/gtest.h>

namespace {

using namespace stepper_sim;

constexpr double kRounding_hz = 1e-6;  // picoseconds in some milliseconds
constexpr double kMiddles_hz_s =
    3e3;  // windows hold whole intervals: their middles may lie 3 % nearer or farther

constexpr std::int64_t kUs = 1'000'000;  // picoseconds

/// A motor's two lines, driven by the microsecond.
struct Lines {
    explicit Lines(const capture::LineLimits& limits = {}) : tracker(limits) {
        tracker.direction_level(capture::Level::high, 0);
        tracker.step_level(capture::Level::low, 0, nullptr);
    }
    void turn(capture::Level level, std::int64_t at_us) {
        tracker.direction_level(level, at_us * kUs);
    }
    void step(capture::Level level, std::int64_t at_us) {
        tracker.step_level(level, at_us * kUs, nullptr);
    }
    void pulse(std::int64_t at_us, std::int64_t width_us = 10) {
        step(capture::Level::high, at_us);
        step(capture::Level::low, at_us + width_us);
    }
    capture::MotorCapture end() {
        tracker.finish();
        return tracker.result();
    }
    capture::MotorTracker tracker;
};

TEST(Shortest, KeepsTheLeastWithItsPlaceAndCountsWhatIsBelowTheLimit) {
    capture::Shortest shortest;
    EXPECT_FALSE(shortest.seen());
    EXPECT_FALSE(shortest.note(12, 1, 10));
    EXPECT_FALSE(shortest.note(10, 2, 10));
    EXPECT_TRUE(shortest.note(9, 3, 10));
    EXPECT_TRUE(shortest.note(8, 4, 10));
    EXPECT_TRUE(shortest.note(9, 5, 10));
    EXPECT_EQ(shortest.value_ps, 8);
    EXPECT_EQ(shortest.at_ps, 4);
    EXPECT_EQ(shortest.short_ones, 3);
    EXPECT_EQ(shortest.first_short_ps, 3);
}

TEST(MotorCapture, ALineActiveMoreThanThreeFifthsOfTheTimeIsUpsideDown) {
    capture::MotorCapture capture;
    capture.up = 2;
    capture.high_ps = 59;
    capture.low_ps = 41;
    EXPECT_FALSE(capture.looks_inverted());
    capture.high_ps = 61;
    capture.low_ps = 39;
    EXPECT_TRUE(capture.looks_inverted());
    capture.up = 1;
    EXPECT_FALSE(capture.looks_inverted()) << "one pulse tells nothing";
}

TEST(MotorTracker, CountsUpWhereTheDirectionLineIsHigh) {
    Lines lines;
    lines.pulse(100);
    lines.pulse(200);
    lines.turn(capture::Level::low, 250);
    lines.pulse(300);
    const capture::MotorCapture seen = lines.end();
    EXPECT_EQ(seen.up, 2);
    EXPECT_EQ(seen.down, 1);
    EXPECT_EQ(seen.first_ps, 100 * kUs);
    EXPECT_EQ(seen.last_ps, 300 * kUs);
}

// The limits all differ: 10 us high, 20 low, 30 set-up, 40 hold.
TEST(MotorTracker, EachTimeIsMeasuredBetweenItsOwnEdgesAndAgainstItsOwnLimit) {
    const capture::LineLimits limits{10 * kUs, 20 * kUs, 30 * kUs, 40 * kUs, 0};
    Lines good(limits);
    good.pulse(100, 10);
    good.pulse(130, 10);
    good.turn(capture::Level::low, 170);
    good.pulse(200, 10);
    const capture::MotorCapture held = good.end();
    EXPECT_EQ(held.high.value_ps, 10 * kUs);
    EXPECT_EQ(held.low.value_ps, 20 * kUs);
    EXPECT_EQ(held.setup.value_ps, 30 * kUs);
    EXPECT_EQ(held.hold.value_ps, 40 * kUs);
    EXPECT_EQ(held.interval.value_ps, 30 * kUs);
    EXPECT_EQ(
        held.high.short_ones + held.low.short_ones + held.setup.short_ones + held.hold.short_ones,
        0);
    EXPECT_EQ(held.position_at_risk(), 0);

    Lines bad(limits);
    bad.pulse(100, 9);
    bad.pulse(128, 10);
    bad.turn(capture::Level::low, 167);
    bad.pulse(196, 10);
    const capture::MotorCapture broken = bad.end();
    EXPECT_EQ(broken.high.short_ones, 1);
    EXPECT_EQ(broken.low.short_ones, 1);
    EXPECT_EQ(broken.setup.short_ones, 1);
    EXPECT_EQ(broken.hold.short_ones, 1);
}

TEST(MotorTracker, SetUpIsThatOfTheFirstStepAfterATurn) {
    Lines lines({0, 0, 500 * kUs, 0, 0});  // the second one is 400 us after the turn
    lines.pulse(100);
    lines.turn(capture::Level::low, 500);
    lines.pulse(700);
    lines.pulse(900);
    const capture::MotorCapture seen = lines.end();
    EXPECT_EQ(seen.setup.value_ps, 200 * kUs);
    EXPECT_EQ(seen.setup.short_ones, 1);
    EXPECT_EQ(seen.wrong_way, 1);
}

TEST(MotorTracker, AStepAtRiskForTwoReasonsIsCountedOnceAndTheLastOneToo) {
    Lines lines({10 * kUs, 0, 30 * kUs, 0, 0});
    lines.pulse(100, 10);
    lines.turn(capture::Level::low, 190);
    lines.pulse(200, 5);  // set-up and width too short
    lines.pulse(300, 5);  // width, the last step
    const capture::MotorCapture seen = lines.end();
    EXPECT_EQ(seen.wrong_way, 1);
    EXPECT_EQ(seen.swallowed, 1);
    EXPECT_EQ(seen.position_at_risk(), 3);
}

TEST(MotorTracker, NothingIsMeasuredAcrossAnUnknownLevel) {
    Lines lines;
    lines.pulse(100);
    lines.step(capture::Level::unknown, 200);
    lines.step(capture::Level::high, 250);
    lines.step(capture::Level::low, 260);
    lines.pulse(300);
    const capture::MotorCapture seen = lines.end();
    EXPECT_EQ(seen.pulses(), 2);
    EXPECT_FALSE(seen.interval.seen());
    EXPECT_EQ(seen.unknown_spans, 1);
    EXPECT_EQ(seen.unknown_ps, 50 * kUs);
    EXPECT_EQ(seen.high.value_ps, 10 * kUs);
}

TEST(MotorTracker, PulsesWhileTheDirectionIsUnknownAreBlind) {
    Lines lines;
    lines.pulse(100);
    lines.turn(capture::Level::unknown, 150);
    lines.pulse(200);
    lines.pulse(300);
    lines.turn(capture::Level::high, 350);
    lines.pulse(400);
    EXPECT_EQ(lines.end().blind_pulses, 2);
}

TEST(MotorTracker, JitterIsTheDistanceOfAnIntervalFromTheMeanOfItsNeighbours) {
    Lines lines;
    for (const std::int64_t at_us : {1000, 1100, 1210, 1310})
        lines.pulse(at_us);
    const capture::MotorCapture seen = lines.end();
    EXPECT_EQ(seen.jitter.count(), 1U);
    EXPECT_EQ(seen.jitter.longest_ps(), 10 * kUs);
}

TEST(MotorTracker, JitterIsNotMeasuredAcrossATurn) {
    Lines lines;
    for (const std::int64_t at_us : {1000, 1100, 1200})
        lines.pulse(at_us);
    lines.turn(capture::Level::low, 1250);
    for (const std::int64_t at_us : {1350, 1450})
        lines.pulse(at_us);
    EXPECT_EQ(lines.end().jitter.count(), 0U);
}

/// Pulses at an even interval from window `from` up to window `to` (10 ms each).
void run(Lines& lines, std::int64_t interval_us, std::int64_t from, std::int64_t to) {
    for (std::int64_t at_us = 10'000 * from + 1; at_us < 10'000 * to - 20; at_us += interval_us)
        lines.pulse(at_us);
}

TEST(MotorTracker, SpeedIsWholeStepsOverTheirOwnTime) {
    Lines lines;
    run(lines, 1000, 1, 2);
    const capture::MotorCapture seen = lines.end();
    EXPECT_NEAR(seen.rate_hz.value, 1000.0, kRounding_hz);
    EXPECT_EQ(seen.acceleration_hz_s.value, 0.0);
}

TEST(MotorTracker, AccelerationIsTheChangeBetweenTwoWindowsSideBySide) {
    Lines side_by_side;
    run(side_by_side, 1000, 1, 2);
    run(side_by_side, 500, 2, 3);
    // 1000 Hz more over about 10 ms: the middles of what each window holds.
    EXPECT_NEAR(side_by_side.end().acceleration_hz_s.value, 1e5, kMiddles_hz_s);
    Lines apart;
    run(apart, 1000, 1, 2);
    run(apart, 500, 3, 4);
    EXPECT_EQ(apart.end().acceleration_hz_s.value, 0.0);
}

TEST(MotorTracker, AWindowWithATurnInItIsNoSpeed) {
    Lines lines;
    for (std::int64_t i = 0; i < 9; ++i) {
        if (i == 5) lines.turn(capture::Level::low, 10'001 + 1000 * i - 100);
        lines.pulse(10'001 + 1000 * i);
    }
    EXPECT_EQ(lines.end().rate_hz.value, 0.0);
}

}  // namespace
