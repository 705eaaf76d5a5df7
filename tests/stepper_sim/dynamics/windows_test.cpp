#include "stepper_sim/dynamics/windows.hpp"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

#include "test_axes.hpp"

namespace stepper_sim::dynamics {
namespace {

WindowRule rule() {
    WindowRule r;
    r.pass_ratio = 0.7;
    r.calm_rate_rad_s = 5.0;
    r.run_in_s = 0.15;
    return r;
}

MoveScreen move(double ratio, double duration_s, double start_rate_rad_s = 0.0) {
    MoveScreen m;
    m.ratio = ratio;
    m.duration_s = duration_s;
    m.start_rate_rad_s = start_rate_rad_s;
    m.top_rate_rad_s = 20.0;
    return m;
}

/// Adds moves end to end.
std::vector<Window> windows_of(const std::vector<MoveScreen>& moves, const WindowRule& r) {
    WindowBuilder builder(r);
    double time_s = 0.0;
    for (const MoveScreen& m : moves) {
        builder.add(m, time_s);
        time_s += m.duration_s;
    }
    return builder.finish();
}

TEST(Windows, NoneWhereEveryMovePasses) {
    EXPECT_TRUE(windows_of({move(0.1, 1.0), move(0.69, 1.0)}, rule()).empty());
}

TEST(Windows, NeighboursBecomeOneWindow) {
    const auto windows = windows_of(
        {move(0.1, 1.0), move(0.8, 0.1), move(0.2, 0.1), move(0.9, 0.1), move(0.1, 1.0)}, rule());
    ASSERT_EQ(windows.size(), 1U);
    EXPECT_EQ(windows[0].first_move, 1U);
    EXPECT_EQ(windows[0].last_move, 3U);
    EXPECT_EQ(windows[0].ratio, 0.9);
}

TEST(Windows, FarApartStayTwoTheRiskierFirst) {
    const auto windows = windows_of({move(0.8, 0.1), move(0.1, 3.0), move(0.9, 0.1)}, rule());
    ASSERT_EQ(windows.size(), 2U);
    EXPECT_EQ(windows[0].first_move, 2U);
    EXPECT_EQ(windows[1].first_move, 0U);
}

TEST(Windows, RunInReachesBackToACalmStart) {
    const auto windows = windows_of(
        {move(0.1, 0.5, 0.0), move(0.1, 0.3, 18.0), move(0.1, 0.1, 19.0), move(0.9, 0.1, 20.0)},
        rule());
    ASSERT_EQ(windows.size(), 1U);
    EXPECT_EQ(windows[0].run_in_move, 0U);
    EXPECT_EQ(windows[0].run_in_s, 0.0);
    EXPECT_EQ(windows[0].start_rate_rad_s, 0.0);
    EXPECT_EQ(windows[0].first_move, 3U);
}

TEST(Windows, LongCruiseAboveTheCornerIsAWindowWhateverItsRatio) {
    MoveScreen cruise = move(0.2, 1.0);
    cruise.fast_stretch_s = 0.5;
    const auto windows = windows_of({move(0.1, 0.1), cruise}, rule());
    ASSERT_EQ(windows.size(), 1U);
    EXPECT_TRUE(windows[0].long_fast_stretch);
}

TEST(Windows, ALongMoveIsSimulatedForTenSecondsAndSaysSo) {
    const auto windows = windows_of({move(0.1, 1.0), move(0.9, 9.9), move(0.1, 1.0)}, rule());
    ASSERT_EQ(windows.size(), 1U);
    EXPECT_FALSE(windows[0].cut_off);
    EXPECT_DOUBLE_EQ(windows[0].end_s, 1.0 + 9.9 + rule().tail_s);
    const auto cut = windows_of({move(0.1, 1.0), move(0.9, 300.0), move(0.1, 1.0)}, rule());
    ASSERT_EQ(cut.size(), 1U);
    EXPECT_TRUE(cut[0].cut_off);
    EXPECT_DOUBLE_EQ(cut[0].end_s, 1.0 + kLongestSimulated_s);
}

TEST(Windows, ARunInBeginsInsideAMoveThatIsTooLong) {
    const auto windows = windows_of({move(0.1, 300.0), move(0.9, 0.1)}, rule());
    ASSERT_EQ(windows.size(), 1U);
    EXPECT_TRUE(windows[0].begins_inside);
    EXPECT_DOUBLE_EQ(windows[0].run_in_s, 300.0 - kLongestSimulated_s);
    EXPECT_EQ(windows[0].run_in_move, 0U);
    EXPECT_FALSE(windows_of({move(0.1, 9.0), move(0.9, 0.1)}, rule())[0].begins_inside);
}

TEST(Windows, KeepsTheRiskiestAndCountsAll) {
    WindowRule r = rule();
    r.most_kept = 5;
    WindowBuilder builder(r);
    double time_s = 0.0;
    for (int i = 0; i < 40; ++i) {
        builder.add(move(0.71 + 0.001 * ((i * 17) % 40), 0.1), time_s);
        builder.add(move(0.1, 5.0), time_s + 0.1);
        time_s += 5.1;
    }
    const auto windows = builder.finish();
    EXPECT_EQ(builder.found(), 40U);
    ASSERT_EQ(windows.size(), 5U);
    EXPECT_EQ(windows[0].ratio, 0.71 + 0.001 * 39);
    EXPECT_EQ(windows[4].ratio, 0.71 + 0.001 * 35);
}

RC_GTEST_PROP(Windows, CoverEverySuspiciousMove, ()) {
    std::vector<MoveScreen> moves;
    const int count = *rc::gen::inRange(1, 60);
    for (int i = 0; i < count; ++i)
        moves.push_back(move(0.01 * *rc::gen::inRange(0, 100), 0.01 * *rc::gen::inRange(1, 60),
                             0.1 * *rc::gen::inRange(-100, 101)));
    const WindowRule r = rule();
    const auto windows = windows_of(moves, r);
    double time_s = 0.0;
    for (std::size_t i = 0; i < moves.size(); ++i) {
        const double end_s = time_s + moves[i].duration_s;
        const bool covered = std::any_of(windows.begin(), windows.end(), [&](const Window& w) {
            return w.first_move <= i && i <= w.last_move && w.run_in_s <= time_s &&
                   w.begin_s <= time_s && w.end_s >= end_s && w.ratio >= moves[i].ratio;
        });
        if (moves[i].ratio >= r.pass_ratio) RC_ASSERT(covered);
        time_s = end_s;
    }
    for (const Window& w : windows)
        RC_ASSERT(w.run_in_move <= w.first_move);
}

TEST(Windows, RuleFollowsTheDampingOfTheAxis) {
    AxisDynamics axis = test::belt_axis();
    const WindowRule light = window_rule(axis, 0.7);
    axis.coupling_damping_Nms_rad *= 5.0;
    axis.rotor_viscous_Nms_rad *= 5.0;
    EXPECT_LT(window_rule(axis, 0.7).run_in_s, light.run_in_s);
    EXPECT_EQ(light.calm_rate_rad_s, 0.5 * base_rate_rad_s(axis));
}

}  // namespace
}  // namespace stepper_sim::dynamics
