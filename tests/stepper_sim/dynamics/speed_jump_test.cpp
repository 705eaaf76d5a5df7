#include "stepper_sim/dynamics/speed_jump.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace stepper_sim {
namespace {

constexpr double kRounding = 1e-12;  // relative

TEST(SpeedJump, StartRateIsEightNaturalFrequencies) {
    // Nr = 50, T = 0.4 N m, J = 108 g cm2: the motor of worked example M02, 216.58 Hz.
    const double jump_rad_s = largest_speed_jump_rad_s(0.4, 1.08e-5, 50, 0.0);
    const double natural_Hz = std::sqrt(50 * 0.4 / 1.08e-5) / (2.0 * std::numbers::pi);
    EXPECT_NEAR(full_steps_per_s(jump_rad_s, 50) / (8.0 * natural_Hz), 1.0, kRounding);
}

TEST(SpeedJump, VanishesWhereTheLoadTakesAllTheTorque) {
    const double kLast_rad_s = 1e-3;  // asin near 1 keeps half the digits
    EXPECT_NEAR(largest_speed_jump_rad_s(0.4, 1e-5, 50, 0.4), 0.0, kLast_rad_s);
    EXPECT_NEAR(largest_speed_jump_rad_s(0.4, 1e-5, 50, 0.9), 0.0, kLast_rad_s);
    EXPECT_EQ(largest_speed_jump_rad_s(0.0, 1e-5, 50, 0.0), 0.0);
}

TEST(SpeedJump, FallsAsTheLoadGrows) {
    double before_rad_s = largest_speed_jump_rad_s(0.4, 1e-5, 50, 0.0);
    for (int percent = 5; percent < 100; percent += 5) {
        const double jump_rad_s = largest_speed_jump_rad_s(0.4, 1e-5, 50, 0.004 * percent);
        EXPECT_LT(jump_rad_s, before_rad_s);
        before_rad_s = jump_rad_s;
    }
}

}  // namespace
}  // namespace stepper_sim
