#include "planner/profile/motion.hpp"

#include <gtest/gtest.h>

#include <random>

#include "planner/profile/trapezoid.hpp"

namespace planner {
namespace {

constexpr double kUlpBelowOne = 1.2e-16;  // 2^-53

constexpr double kRounding = 1e-14;  // relative: a dozen operations

TEST(Motion, DistanceAndSpeedFollowThePhases) {
    // 50 mm at 100 mm/s and 1 m/s^2: at 0.05 s half a t^2 = 1.25 mm and 50 mm/s; in the middle 25
    // mm and 100 mm/s.
    const Profile p = trapezoid(0.05, 0.0, 0.1, 0.0, 1.0);
    EXPECT_NEAR(distance_at(p, 0.05), 1.25e-3, kRounding);
    EXPECT_NEAR(speed_at(p, 0.05), 0.05, kRounding);
    EXPECT_NEAR(distance_at(p, 0.3), 0.025, kRounding);
    EXPECT_NEAR(speed_at(p, 0.3), 0.1, kRounding);
    EXPECT_NEAR(distance_at(p, 0.55), 0.05 - 1.25e-3, kRounding);
    EXPECT_NEAR(speed_at(p, 0.55), 0.05, kRounding);
}

TEST(Motion, OutsideTheMoveItsEndsHold) {
    const Profile p = trapezoid(0.05, 0.02, 0.1, 0.03, 1.0);
    EXPECT_EQ(distance_at(p, -1.0), 0.0);
    EXPECT_NEAR(distance_at(p, 9.0), 0.05, kRounding);
    EXPECT_EQ(speed_at(p, -1.0), 0.02);
    EXPECT_NEAR(speed_at(p, 9.0), 0.03, kRounding);
    EXPECT_EQ(time_at_distance(p, -1.0), 0.0);
    EXPECT_NEAR(time_at_distance(p, 1.0), p.duration_s, kRounding);
}

TEST(Motion, TimeAtDistanceOfAPhaseIsZeroWithoutDistance) {
    EXPECT_EQ(time_at_distance(Phase{1.0, 0.0, 0.0, 0.0}, 0.0), 0.0);
    EXPECT_EQ(time_at_distance(Phase{1.0, 0.0, 0.0, 2.0}, 0.0), 0.0);
    EXPECT_EQ(time_at_distance(Phase{1.0, 0.0, 0.1, 0.0}, -1e-30), 0.0);
}

TEST(Motion, TimeAtDistanceLosesNoDigitsWhenAccelerationIsNegligible) {
    // 1 m at 1 m/s with a = 1e-12: t = 1 - a/2 to first order. The schoolbook root (sqrt - v) / a
    // keeps 4 digits here.
    const Phase phase{1.0, 0.0, 1.0, 1e-12};
    EXPECT_NEAR(time_at_distance(phase, 1.0), 1.0 - 0.5e-12, 2.0 * kUlpBelowOne);
}

TEST(Motion, TimeAtDistanceBeyondTheStopIsTheStop) {
    // From 1 m/s at -1 m/s^2 it stops after 0.5 m and 1 s; a distance past that by rounding gives
    // the same time.
    const Phase phase{1.0, 0.0, 1.0, -1.0};
    EXPECT_NEAR(time_at_distance(phase, 0.5), 1.0, kRounding);
    EXPECT_NEAR(time_at_distance(phase, 0.5 * (1.0 + 1e-15)), 1.0, kRounding);
}

TEST(Motion, TimeAtDistanceInvertsDistanceAtTime) {
    std::mt19937 engine(24);
    std::uniform_real_distribution<double> share(0.0, 1.0);
    for (int n = 0; n < 5000; ++n) {
        const double length_m = std::exp(std::uniform_real_distribution<double>(-16, 0)(engine));
        const double a = 10.0 * share(engine) + 0.1;
        const double v = share(engine) + 0.01;
        const double v0 = std::min(v, std::sqrt(a * length_m)) * share(engine);
        const double v1 = std::min(v, std::sqrt(a * length_m)) * share(engine);
        const Profile p = trapezoid(length_m, v0, v, v1, a);
        for (int k = 0; k <= 10; ++k) {
            const double t = p.duration_s * share(engine);
            const double s = distance_at(p, t);
            // Rounding of s, seen in time: ds / v, which grows where the motion is slow.
            const double slack = kRounding * (p.duration_s + length_m / speed_at(p, t));
            ASSERT_NEAR(time_at_distance(p, s), t, slack) << "move " << n;
        }
    }
}

TEST(Motion, TimeNeverRunsBackwardsAlongAMove) {
    const Profile p = trapezoid(0.05, 0.02, 0.1, 0.03, 1.0);
    double before = 0.0;
    constexpr int kPoints = 5000;
    for (int k = 0; k <= kPoints; ++k) {
        const double t = time_at_distance(p, 0.05 * k / kPoints);
        ASSERT_GE(t, before);
        before = t;
    }
}

TEST(ProgramTime, KeepsItsDigitsAfterDays) {
    // 1e6 s in steps of 0.1 s: a plain sum of doubles would be off by about 1e-5 s here.
    ProgramTime clock;
    constexpr int kSteps = 10'000'000;
    for (int i = 0; i < kSteps; ++i) {
        clock.advance(0.1);
    }
    const double off_s = static_cast<double>(clock.whole_s - 1'000'000) + clock.fraction_s;
    constexpr double kDrift_s =
        kSteps * 1.1e-16;  // half a rounding of a number below 2 per step, at worst
    EXPECT_NEAR(off_s, 0.0, kDrift_s);
}

TEST(ProgramTime, EndlessRestsDoNotOverflow) {
    ProgramTime clock;
    constexpr int kRests = 1000;
    for (int i = 0; i < kRests; ++i) {
        clock.advance(1e300);
    }
    EXPECT_EQ(clock.seconds(), kRests * ProgramTime::kLongest_s);
    EXPECT_GE(clock.fraction_s, 0.0);
}

}  // namespace
}  // namespace planner
