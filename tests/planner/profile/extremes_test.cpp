/// Programs at the edge of what numbers can hold: plans and profiles must stay finite, feasible and
/// within limits.
#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "planner/profile/motion.hpp"
#include "planner/profile/trapezoid.hpp"
#include "tests/planner/lookahead/random_program.hpp"

namespace planner {
namespace {

using testing::example_limits;
using testing::kAxes;
using testing::move_by;
using testing::plan;
using testing::ProgramMaker;

constexpr double kRootOfAnUlp = 1e-7;  // at a stop time is as sharp as that, of the distance

constexpr double kWholePhase = 1e-9;  // trapezoid.hpp, Valid

Profile profile_of(const PlannedMove& planned) {
    return trapezoid(planned.move.length_m, planned.entry_speed_m_s, planned.nominal_speed_m_s,
                     planned.exit_speed_m_s, planned.acceleration_m_s2);
}

/// Duration of the program, after checking every move of it.
double checked_time(const std::vector<PlannedMove>& planned) {
    double sum_s = 0.0;
    for (const PlannedMove& each : planned) {
        const Profile profile = profile_of(each);
        const double length_m = each.move.length_m;
        EXPECT_GE(profile.count, 1);
        EXPECT_TRUE(std::isfinite(profile.duration_s));
        EXPECT_GT(profile.duration_s, 0.0);
        EXPECT_NEAR(distance_at(profile, profile.duration_s), length_m, kWholePhase * length_m);
        EXPECT_NEAR(time_at_distance(profile, length_m), profile.duration_s,
                    kRootOfAnUlp * profile.duration_s);
        // of distance
        for (int i = 0; i < profile.count; ++i) {
            const Phase& phase = profile.phases[static_cast<std::size_t>(i)];
            EXPECT_LE(std::abs(phase.acceleration_m_s2), each.acceleration_m_s2 * (1.0 + 1e-12));
            EXPECT_LE(phase.start_speed_m_s, each.nominal_speed_m_s);
        }
        sum_s += profile.duration_s;
        if (::testing::Test::HasFailure()) return sum_s;
    }
    return sum_s;
}

TEST(Extremes, MillionMovesOnALineTakeAsLongAsTheLine) {
    constexpr std::size_t kCount = 1'000'000;
    constexpr double kLength_m = 10.0;
    std::vector<Move> pieces(kCount);
    for (std::size_t k = 0; k < kCount; ++k) {
        pieces[k].start_m[0] = kLength_m * static_cast<double>(k) / kCount;
        pieces[k].end_m[0] = kLength_m * static_cast<double>(k + 1) / kCount;
        pieces[k].length_m = pieces[k].end_m[0] - pieces[k].start_m[0];
        pieces[k].feed_m_s = 0.2;
    }
    const double time_s = checked_time(plan(example_limits(), pieces));
    const double expected_s = kLength_m / 0.2 + 0.2 / 3.0;  // L / v + v / a
    EXPECT_NEAR(time_s, expected_s, 10.0 * kWholePhase * expected_s);
}

TEST(Extremes, NanometreMovesRampUpAsOneMove) {
    // From 5 mm/s it stops in 4.2 um: 4200 moves, well below the most that are held back.
    constexpr std::size_t kCount = 200'000;
    std::vector<Move> pieces(kCount);
    for (std::size_t k = 0; k < kCount; ++k) {
        pieces[k].start_m[0] = 1e-9 * static_cast<double>(k);
        pieces[k].end_m[0] = 1e-9 * static_cast<double>(k + 1);
        pieces[k].length_m = pieces[k].end_m[0] - pieces[k].start_m[0];
        pieces[k].feed_m_s = 0.005;
    }
    const double time_s = checked_time(plan(example_limits(), pieces));
    const double expected_s = 2e-4 / 0.005 + 0.005 / 3.0;
    // lookahead.hpp, Valid: the reserve is 2e-15 v^2 of the 6e-9 m^2/s^2 each move can change.
    constexpr double kReserve = 1e-6;
    EXPECT_NEAR(time_s, expected_s, kReserve * expected_s);
}

TEST(Extremes, TinyMovesAmongHugeOnesStayFeasible) {
    for (const auto rule : {CornerRule::speed_step, CornerRule::deviation}) {
        for (const int window : {1, 2, 16, 0}) {
            ProgramMaker chance(71);
            std::vector<Move> program;
            AxisArray at_m{};
            for (int n = 0; n < 5000; ++n) {
                AxisArray delta_m{};
                for (std::size_t i = 0; i < kAxes; ++i) {
                    delta_m[i] = (chance.uniform(0, 1) < 0.5 ? -1 : 1) * chance.scaled(1e-12, 10);
                }
                program.push_back(move_by(at_m, delta_m, chance.scaled(1e-6, 1e3)));
                at_m = program.back().end_m;
            }
            const auto planned = plan(example_limits(rule, window), program);
            EXPECT_TRUE(std::isfinite(checked_time(planned)));
            EXPECT_EQ(planned.back().exit_speed_m_s, 0.0);
        }
    }
}

TEST(Extremes, AxisLimitsAMillionfoldApartAreKept) {
    PlanLimits limits = example_limits();
    limits.max_speed_m_s = {10.0, 1e-5, 0.1, 0.1};
    limits.max_acceleration_m_s2 = {1e3, 1e-3, 1.0, 1.0};
    limits.speed_step_m_s = {1.0, 1e-6, 1e-3, 1e-3};
    for (const auto rule : {CornerRule::speed_step, CornerRule::deviation}) {
        limits.corner = rule;
        const auto planned = plan(limits, ProgramMaker(72).moves(5000));
        EXPECT_TRUE(std::isfinite(checked_time(planned)));
        for (const PlannedMove& each : planned) {
            const auto allowed = move_limits(limits, each.move);
            for (std::size_t i = 0; i < kAxes; ++i) {
                ASSERT_LE(std::abs(allowed.direction[i]) * each.nominal_speed_m_s,
                          limits.max_speed_m_s[i] * (1.0 + 1e-14));
            }
        }
    }
}

TEST(Extremes, NoSpeedStepAndNoDeviationStopAtEveryCornerButNotOnALine) {
    PlanLimits limits = example_limits();
    limits.speed_step_m_s = {};
    limits.deviation_m = 0.0;
    const std::vector<Move> line{move_by({}, {0.01}, 0.1), move_by({0.01}, {0.01}, 0.1)};
    const std::vector<Move> corner{move_by({}, {0.01}, 0.1), move_by({0.01}, {0.01, 0.001}, 0.1)};
    for (const auto rule : {CornerRule::speed_step, CornerRule::deviation}) {
        limits.corner = rule;
        EXPECT_EQ(plan(limits, line)[0].exit_speed_m_s, 0.1);
        EXPECT_EQ(plan(limits, corner)[0].exit_speed_m_s, 0.0);
        EXPECT_TRUE(std::isfinite(checked_time(plan(limits, corner))));
    }
}

}  // namespace
}  // namespace planner
