#include "planner/lookahead/corner.hpp"

#include <gtest/gtest.h>

#include <numbers>

#include "tests/planner/lookahead/random_program.hpp"

namespace planner {
namespace {

using testing::example_limits;
using testing::kAxes;
using testing::move_by;

constexpr double kRounding = 1e-14;  // relative: a few dozen operations
const double kInfinity = std::numeric_limits<double>::infinity();

/// X and Y alike, so that results are easy by hand.
PlanLimits even_limits(CornerRule corner) {
    PlanLimits limits = example_limits(corner);
    limits.max_speed_m_s = {1.0, 1.0, 1.0, 1.0};
    limits.max_acceleration_m_s2 = {2.0, 2.0, 2.0, 2.0};
    limits.speed_step_m_s = {0.01, 0.01, 0.01, 0.01};
    return limits;
}

double corner(const PlanLimits& limits, const AxisArray& first_m, const AxisArray& second_m,
              double feed_m_s = kInfinity) {
    return plan_corner_speed(limits, move_limits(limits, move_by({}, first_m, feed_m_s)),
                             move_limits(limits, move_by(first_m, second_m, feed_m_s)));
}

TEST(Corner, ReversalHalvesTheSpeedStep) {
    // From +v to -v the axis jumps by 2 v.
    const auto limits = even_limits(CornerRule::speed_step);
    EXPECT_NEAR(corner(limits, {0.01}, {-0.01}), 0.005, 0.005 * kRounding);
}

TEST(Corner, RightAngleBySpeedStepIsTheStepOfTheWeakerAxis) {
    auto limits = even_limits(CornerRule::speed_step);
    limits.speed_step_m_s[1] = 0.007;
    EXPECT_NEAR(corner(limits, {0.01}, {0.0, 0.01}), 0.007, 0.007 * kRounding);
}

TEST(Corner, StraightContinuationIsOnlyLimitedByTheSlowerMove) {
    for (const auto rule : {CornerRule::speed_step, CornerRule::deviation}) {
        const auto limits = even_limits(rule);
        const auto slow = move_limits(limits, move_by({}, {0.03, 0.04}, 0.1));
        const auto fast = move_limits(limits, move_by({0.03, 0.04}, {0.3, 0.4}, 0.2));
        EXPECT_EQ(plan_corner_speed(limits, slow, fast), slow.nominal_speed_m_s);
        EXPECT_EQ(plan_corner_speed(limits, fast, slow), slow.nominal_speed_m_s);
    }
}

TEST(Corner, RightAngleByDeviationMatchesTheArc) {
    // r (sqrt2 - 1) = d with d = 20 um: r = 48.284 um. Both axes give 2 m/s^2, so 2 sqrt2 along the
    // bisector: v = sqrt(a r).
    const auto limits = even_limits(CornerRule::deviation);
    const double radius_m = 20e-6 / (std::numbers::sqrt2 - 1.0);
    const double expected = std::sqrt(2.0 * std::numbers::sqrt2 * radius_m);
    EXPECT_NEAR(corner(limits, {0.01}, {0.0, 0.01}), expected, expected * kRounding);
}

TEST(Corner, ReversalByDeviationStops) {
    const auto limits = even_limits(CornerRule::deviation);
    EXPECT_EQ(corner(limits, {0.01}, {-0.01}), 0.0);
    EXPECT_EQ(corner(limits, {0.03, 0.04}, {-0.03, -0.04}), 0.0);
}

TEST(Corner, WeakAxisAcrossTheBisectorDoesNotMatter) {
    // Legs at +-45 deg to X turn along Y only: X's acceleration is not asked for.
    auto limits = even_limits(CornerRule::deviation);
    const double with_equal_axes = corner(limits, {0.01, 0.01}, {0.01, -0.01});
    limits.max_acceleration_m_s2[0] = 1e-3;
    EXPECT_NEAR(corner(limits, {0.01, 0.01}, {0.01, -0.01}), with_equal_axes,
                with_equal_axes * kRounding);
}

TEST(Corner, ChordsOfACircleAreRunAtItsCentripetalLimit) {
    // Fine chords: the arc through two half chords is the circle itself, v^2 = a r; a = 2 m/s^2 in
    // the weakest direction, X.
    const auto limits = even_limits(CornerRule::deviation);
    constexpr double kRadius_m = 0.02;
    constexpr double kTurn_rad =
        0.01;  // chords leave the circle by r turn^2 / 8 = 0.25 um, far below the deviation
    const double chord_m = 2.0 * kRadius_m * std::sin(kTurn_rad / 2.0);
    const auto leg = [&](double angle_rad) {
        return AxisArray{chord_m * std::cos(angle_rad), chord_m * std::sin(angle_rad)};
    };
    const double along_y = std::numbers::pi / 2.0;  // running along Y, turning towards -X
    const double speed = corner(limits, leg(along_y - kTurn_rad / 2), leg(along_y + kTurn_rad / 2));
    constexpr double kChordError =
        kTurn_rad * kTurn_rad;  // circle against tangent arc: of this order
    EXPECT_NEAR(speed, std::sqrt(2.0 * kRadius_m), 0.2 * kChordError);
}

TEST(Corner, DeviationBoundsTheJumpWhereLengthsAreMeasuredDifferently) {
    // X and E together, then E alone: nearly the same direction, but 1 m of path is 100 m of E
    // before and 1 m after.
    const auto limits = even_limits(CornerRule::deviation);
    const double v = corner(limits, {1e-4, 0, 0, 0.01}, {0, 0, 0, 0.01});
    const double jump = 100.0 - 1.0;  // of E per metre of path; X's 1 hardly counts
    const double blend = std::sqrt(8.0 * 20e-6 * 2.0) / jump;
    EXPECT_LE(v, blend);
    EXPECT_GT(v, 0.0);
}

TEST(Corner, NoAxisJumpsMoreThanItsStep) {
    const auto limits = example_limits();
    const auto program = testing::ProgramMaker(11).moves(5000);
    for (std::size_t k = 1; k < program.size(); ++k) {
        const auto before = move_limits(limits, program[k - 1]);
        const auto after = move_limits(limits, program[k]);
        const double v = plan_corner_speed(limits, before, after);
        ASSERT_LE(v, std::min(before.nominal_speed_m_s, after.nominal_speed_m_s));
        double fullest = v / std::min(before.nominal_speed_m_s, after.nominal_speed_m_s);
        for (std::size_t i = 0; i < kAxes; ++i) {
            const double jump = v * std::abs(after.direction[i] - before.direction[i]);
            ASSERT_LE(jump, limits.speed_step_m_s[i] * (1.0 + kRounding)) << k;
            fullest = std::max(fullest, jump / limits.speed_step_m_s[i]);
        }
        ASSERT_NEAR(fullest, 1.0, kRounding) << "slower than any limit asks, move " << k;
    }
}

TEST(Corner, DeviationKeepsTheArcNearTheCornerAndTheAxesWithinTheirAcceleration) {
    const auto limits = example_limits(CornerRule::deviation);
    const auto program = testing::ProgramMaker(12).moves(5000);
    for (std::size_t k = 1; k < program.size(); ++k) {
        const auto before = move_limits(limits, program[k - 1]);
        const auto after = move_limits(limits, program[k]);
        const double v = plan_corner_speed(limits, before, after);
        ASSERT_LE(v, std::min(before.nominal_speed_m_s, after.nominal_speed_m_s));
        double cosine = 0.0, norm1 = 0.0, norm2 = 0.0;
        for (std::size_t i = 0; i < kAxes; ++i) {
            cosine += before.direction[i] * after.direction[i];
            norm1 += before.direction[i] * before.direction[i];
            norm2 += after.direction[i] * after.direction[i];
        }
        norm1 = std::sqrt(norm1);
        norm2 = std::sqrt(norm2);
        const double turn_rad = std::acos(std::clamp(cosine / (norm1 * norm2), -1.0, 1.0));
        constexpr double kFlat_rad = 1e-4;  // below, acos has too few digits left for this route
        if (turn_rad < kFlat_rad || turn_rad > std::numbers::pi - kFlat_rad) continue;
        // Largest allowed radius, by the half angle; acceleration from it along the bisector.
        const double half = turn_rad / 2.0;
        const double radius_m = limits.deviation_m / (1.0 / std::cos(half) - 1.0);
        const double speed_m_s = v * std::max(norm1, norm2);
        for (std::size_t i = 0; i < kAxes; ++i) {
            const double across =
                (after.direction[i] / norm2 - before.direction[i] / norm1) / (2.0 * std::sin(half));
            constexpr double kAcosRounding = 1e-6;
            ASSERT_LE(std::abs(across) * speed_m_s * speed_m_s / radius_m,
                      limits.max_acceleration_m_s2[i] * (1.0 + kAcosRounding))
                << k;
        }
    }
}

}  // namespace
}  // namespace planner
