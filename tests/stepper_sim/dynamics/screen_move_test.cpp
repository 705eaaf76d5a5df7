#include "stepper_sim/dynamics/screen_move.hpp"

#include <gtest/gtest.h>

#include "test_axes.hpp"

namespace stepper_sim::dynamics {
namespace {

TEST(ScreenMove, MotorTurnsByItsShareOfThePath) {
    planner::MotorMove move;
    move.length_m = 0.05;
    move.rest_before_s = 0.2;
    move.motor_start_m[1] = 0.01;
    move.motor_end_m[1] = -0.02;  // 30 mm back along a 50 mm path
    move.profile.count = 1;
    move.profile.phases[0] = {0.5, 0.0, 0.1, 0.0};
    move.profile.duration_s = 0.5;
    const double rad_per_m = 157.0;

    std::vector<RatePhase> phases;
    append_rate_phases(move, 1, rad_per_m, phases);
    ASSERT_EQ(phases.size(), 2U);
    EXPECT_EQ(phases[0].duration_s, 0.2);
    EXPECT_EQ(phases[0].start_rate_rad_s, 0.0);
    const double kRounding = 1e-12;
    EXPECT_NEAR(phases[1].start_rate_rad_s, -0.6 * 0.1 * rad_per_m, kRounding);

    ModalScreen screen(test::belt_axis(), TorqueTable([](double) { return 0.3; }, 1000.0));
    const MoveScreen result = screen_move(screen, move, 1, rad_per_m);
    EXPECT_NEAR(result.duration_s, 0.5, kRounding);
    EXPECT_GE(result.peak_time_s, 0.0);  // the start from rest, not the rest
    EXPECT_LT(result.peak_time_s, 0.05);
    EXPECT_NEAR(result.end_rate_rad_s, -9.42, kRounding);
}

TEST(ScreenMove, MotorThatDoesNotMoveHasNoRatio) {
    planner::MotorMove move;
    move.length_m = 0.05;
    move.profile.count = 1;
    move.profile.phases[0] = {0.5, 0.0, 0.1, 0.0};
    ModalScreen screen(test::belt_axis(), TorqueTable([](double) { return 0.3; }, 1000.0));
    EXPECT_EQ(screen_move(screen, move, 0, 157.0).ratio, 0.0);
}

}  // namespace
}  // namespace stepper_sim::dynamics
