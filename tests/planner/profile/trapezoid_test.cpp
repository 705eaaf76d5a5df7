#include "planner/profile/trapezoid.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "planner/profile/motion.hpp"

namespace planner {
namespace {

constexpr double kRounding = 1e-14;  // relative: a dozen operations

TEST(Trapezoid, RestToRestMoveSpeedsUpCruisesAndSlowsDown) {
    // 50 mm at 100 mm/s and 1 m/s^2: 0.1 s and 5 mm at either end, 40 mm of cruise in 0.4 s.
    const Profile p = trapezoid(0.05, 0.0, 0.1, 0.0, 1.0);
    ASSERT_EQ(p.count, 3);
    EXPECT_NEAR(p.duration_s, 0.6, 0.6 * kRounding);
    EXPECT_NEAR(p.phases[0].duration_s, 0.1, kRounding);
    EXPECT_EQ(p.phases[0].acceleration_m_s2, 1.0);
    EXPECT_NEAR(p.phases[1].duration_s, 0.4, kRounding);
    EXPECT_NEAR(p.phases[1].start_distance_m, 0.005, kRounding);
    EXPECT_EQ(p.phases[1].start_speed_m_s, 0.1);
    EXPECT_NEAR(p.phases[2].start_distance_m, 0.045, kRounding);
    EXPECT_EQ(p.phases[2].acceleration_m_s2, -1.0);
}

TEST(Trapezoid, ShortMoveIsATriangle) {
    // 10 mm at 1 m/s^2 out of reach of 1 m/s: peak sqrt(a L) = 0.1 m/s, 0.1 s up and 0.1 s down.
    const Profile p = trapezoid(0.01, 0.0, 1.0, 0.0, 1.0);
    ASSERT_EQ(p.count, 2);
    EXPECT_NEAR(p.duration_s, 0.2, kRounding);
    EXPECT_NEAR(peak_speed(p), 0.1, kRounding);
}

TEST(Trapezoid, EqualSpeedsAtTheNominalOneAreOneCruise) {
    const Profile p = trapezoid(0.01, 0.1, 0.1, 0.1, 1.0);
    ASSERT_EQ(p.count, 1);
    EXPECT_EQ(p.phases[0].acceleration_m_s2, 0.0);
    EXPECT_NEAR(p.duration_s, 0.1, kRounding);
}

TEST(Trapezoid, MoveWithNoRoomToSpareIsOnePhase) {
    // 2 a L = 0.02 = 0.15^2 - 0.05^2: all of it goes into the speed change.
    const Profile up = trapezoid(0.01, 0.05, 1.0, 0.15, 1.0);
    ASSERT_EQ(up.count, 1);
    EXPECT_NEAR(up.phases[0].acceleration_m_s2, 1.0, kRounding);
    EXPECT_NEAR(up.duration_s, 0.1, kRounding);
    const Profile down = trapezoid(0.01, 0.15, 1.0, 0.05, 1.0);
    ASSERT_EQ(down.count, 1);
    EXPECT_NEAR(down.phases[0].acceleration_m_s2, -1.0, kRounding);
    EXPECT_NEAR(down.duration_s, 0.1, kRounding);
}

TEST(Trapezoid, PeakBetweenUnequalEndsIsWhereTheRampsMeet) {
    // v0 = 0.1, v1 = 0.2, a = 1, L = 0.1: peak^2 = (0.01 + 0.04) / 2 + 0.1 = 0.125.
    const Profile p = trapezoid(0.1, 0.1, 1.0, 0.2, 1.0);
    ASSERT_EQ(p.count, 2);
    EXPECT_NEAR(peak_speed(p), std::sqrt(0.125), kRounding);
    EXPECT_NEAR(p.duration_s, 2.0 * std::sqrt(0.125) - 0.3, kRounding);
}

TEST(Trapezoid, AskedForTheImpossibleStillCoversTheLength) {
    const Profile p = trapezoid(0.001, 0.5, 1.0, 0.0, 1.0);  // would need 125 mm to stop
    ASSERT_EQ(p.count, 1);
    EXPECT_NEAR(distance_at(p, p.duration_s), 0.001, 0.001 * kRounding);
    EXPECT_NEAR(p.phases[0].acceleration_m_s2, -125.0, 125.0 * kRounding);
}

TEST(Trapezoid, NoLengthHasNoPhases) {
    const Profile p = trapezoid(0.0, 0.0, 0.1, 0.0, 1.0);
    EXPECT_EQ(p.count, 0);
    EXPECT_EQ(p.duration_s, 0.0);
    EXPECT_EQ(distance_at(p, 1.0), 0.0);
    EXPECT_EQ(time_at_distance(p, 1.0), 0.0);
}

struct RandomMove {
    double length_m, entry_m_s, nominal_m_s, exit_m_s, acceleration_m_s2;
};

/// A feasible move; ends and sizes over many orders of magnitude, exact limits among them.
RandomMove random_move(std::mt19937& engine) {
    const auto uniform = [&](double low, double high) {
        return std::uniform_real_distribution<double>(low, high)(engine);
    };
    RandomMove m{};
    m.length_m = std::exp(uniform(std::log(1e-9), std::log(2.0)));
    m.acceleration_m_s2 = std::exp(uniform(std::log(1e-2), std::log(1e4)));
    m.nominal_m_s = std::exp(uniform(std::log(1e-4), std::log(2.0)));
    m.entry_m_s = uniform(0.0, 1.0) < 0.3 ? 0.0 : m.nominal_m_s * std::min(1.0, uniform(0.0, 1.2));
    const double gain = 2.0 * m.acceleration_m_s2 * m.length_m;
    const double entry_squared = m.entry_m_s * m.entry_m_s;
    const double most = std::min(m.nominal_m_s, std::sqrt(entry_squared + gain));
    const double least = std::sqrt(std::max(0.0, entry_squared - gain));
    m.exit_m_s = least + (most - least) * std::clamp(uniform(-0.3, 1.3), 0.0, 1.0);
    m.exit_m_s = std::min(m.exit_m_s, m.nominal_m_s);
    return m;
}

TEST(Trapezoid, KeepsLengthAndLimitsForAnyMove) {
    std::mt19937 engine(21);
    for (int n = 0; n < 20000; ++n) {
        const RandomMove m = random_move(engine);
        const Profile p =
            trapezoid(m.length_m, m.entry_m_s, m.nominal_m_s, m.exit_m_s, m.acceleration_m_s2);
        ASSERT_GE(p.count, 1);
        ASSERT_LE(p.count, kMaxPhases);
        // Speeds are only as exact as the largest of them; so are distances made of them.
        const double speed_slack = kRounding * m.nominal_m_s;
        const double length_slack = kRounding * m.length_m + speed_slack * p.duration_s;
        // Rounded end speeds, taken over a short move, can ask for this much more than a.
        const double acceleration_slack =
            1e-12 * m.acceleration_m_s2 + speed_slack * m.nominal_m_s / m.length_m;
        double sum_s = 0.0;
        double sum_m = 0.0;
        double speed = m.entry_m_s;
        for (int i = 0; i < p.count; ++i) {
            const Phase& phase = p.phases[static_cast<std::size_t>(i)];
            ASSERT_GT(phase.duration_s, 0.0);
            ASSERT_TRUE(std::isfinite(phase.duration_s));
            ASSERT_LE(std::abs(phase.acceleration_m_s2), m.acceleration_m_s2 + acceleration_slack);
            ASSERT_NEAR(phase.start_speed_m_s, speed, speed_slack);
            ASSERT_NEAR(phase.start_distance_m, sum_m, length_slack);
            speed = end_speed(phase);
            sum_m += phase_length(phase);
            sum_s += phase.duration_s;
        }
        ASSERT_NEAR(speed, m.exit_m_s, speed_slack);
        ASSERT_NEAR(sum_m, m.length_m, length_slack);
        ASSERT_EQ(sum_s, p.duration_s);
        ASSERT_LE(peak_speed(p), m.nominal_m_s + speed_slack);
    }
}

TEST(Trapezoid, ReversedInTimeIsTheMirrorImage) {
    std::mt19937 engine(22);
    for (int n = 0; n < 5000; ++n) {
        const RandomMove m = random_move(engine);
        const Profile there =
            trapezoid(m.length_m, m.entry_m_s, m.nominal_m_s, m.exit_m_s, m.acceleration_m_s2);
        const Profile back =
            trapezoid(m.length_m, m.exit_m_s, m.nominal_m_s, m.entry_m_s, m.acceleration_m_s2);
        ASSERT_EQ(there.count, back.count);
        ASSERT_NEAR(there.duration_s, back.duration_s, kRounding * there.duration_s);
        for (int k = 0; k <= 20; ++k) {
            const double t = there.duration_s * k / 20.0;
            const double mirrored = m.length_m - distance_at(back, back.duration_s - t);
            ASSERT_NEAR(distance_at(there, t), mirrored,
                        10.0 * kRounding * m.length_m + kRounding * m.nominal_m_s * t);
        }
    }
}

TEST(Trapezoid, NoOtherMotionWithinTheLimitsIsFaster) {
    // Other route: the highest speed reachable at each of many points, forward and backward,
    // integrated as ds / v.
    std::mt19937 engine(23);
    for (int n = 0; n < 200; ++n) {
        const RandomMove m = random_move(engine);
        const Profile p =
            trapezoid(m.length_m, m.entry_m_s, m.nominal_m_s, m.exit_m_s, m.acceleration_m_s2);
        constexpr int kPieces = 2000;
        double time_s = 0.0;
        double before = m.entry_m_s;
        for (int k = 1; k <= kPieces; ++k) {
            const double s = m.length_m * k / kPieces;
            const double forward = m.entry_m_s * m.entry_m_s + 2.0 * m.acceleration_m_s2 * s;
            const double backward =
                m.exit_m_s * m.exit_m_s + 2.0 * m.acceleration_m_s2 * (m.length_m - s);
            const double v = std::min({m.nominal_m_s, std::sqrt(forward), std::sqrt(backward)});
            time_s += m.length_m / kPieces * 2.0 / (before + v);
            before = v;
        }
        constexpr double kGrid = 2e-3;  // the peak and the kinks fall between grid points
        ASSERT_NEAR(p.duration_s, time_s, kGrid * time_s);
    }
}

}  // namespace
}  // namespace planner
