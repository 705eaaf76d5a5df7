#include "planner/lookahead/move_limits.hpp"

#include <gtest/gtest.h>

#include "tests/planner/lookahead/random_program.hpp"

namespace planner {
namespace {

using testing::example_limits;
using testing::move_by;

constexpr double kRounding = 4e-16;  // relative: a division and a maximum
const double kInfinity = std::numeric_limits<double>::infinity();

TEST(MoveLimits, SlowestAxisSetsTheSpeedOfADiagonal) {
    // 3-4-5: u = (0.6, 0.8). Speeds 0.3/0.6 = 0.5, 0.25/0.8 = 0.3125. Accelerations 3/0.6 = 5,
    // 2/0.8 = 2.5.
    const auto limits = move_limits(example_limits(), move_by({}, {0.03, -0.04}, kInfinity));
    EXPECT_NEAR(limits.nominal_speed_m_s, 0.3125, 0.3125 * kRounding);
    EXPECT_NEAR(limits.acceleration_m_s2, 2.5, 2.5 * kRounding);
    EXPECT_NEAR(limits.direction[0], 0.6, kRounding);
    EXPECT_NEAR(limits.direction[1], -0.8, kRounding);
}

TEST(MoveLimits, FeedBelowTheAxisLimitsIsTheSpeed) {
    const auto limits = move_limits(example_limits(), move_by({}, {0.03, 0.04}, 0.02));
    EXPECT_NEAR(limits.nominal_speed_m_s, 0.02, 0.02 * kRounding);
}

TEST(MoveLimits, FilamentFasterThanItsLimitSlowsTheWholeMove) {
    // 10 mm of X with 20 mm of filament: E may do 0.1 m/s, so the path 0.05.
    const auto limits = move_limits(example_limits(), move_by({}, {0.01, 0, 0, 0.02}, 0.2));
    EXPECT_NEAR(limits.nominal_speed_m_s, 0.05, 0.05 * kRounding);
    EXPECT_NEAR(limits.direction[testing::kE], 2.0, 2.0 * kRounding);
}

TEST(MoveLimits, LowerOfMachineAndMoveCapBinds) {
    PlanLimits machine = example_limits();
    machine.path_acceleration_m_s2 = 1.0;
    Move move = move_by({}, {0.01}, 0.1);
    EXPECT_NEAR(move_limits(machine, move).acceleration_m_s2, 1.0, kRounding);
    move.acceleration_cap_m_s2 = 0.5;
    EXPECT_NEAR(move_limits(machine, move).acceleration_m_s2, 0.5, kRounding);
    EXPECT_EQ(move_limits(machine, move).acceleration_cap_m_s2, 0.5);
    move.acceleration_cap_m_s2 = 50.0;
    EXPECT_NEAR(move_limits(machine, move).acceleration_m_s2, 1.0, kRounding);
}

TEST(MoveLimits, FeedThatWasNeverSetLeavesTheAxisLimits) {
    for (const double feed_m_s : {0.0, -1.0, kInfinity}) {
        const auto limits = move_limits(example_limits(), move_by({}, {0.01}, feed_m_s));
        EXPECT_NEAR(limits.nominal_speed_m_s, 0.3, 0.3 * kRounding) << feed_m_s;
    }
}

}  // namespace
}  // namespace planner
