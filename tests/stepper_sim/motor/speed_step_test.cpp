#include "stepper_sim/motor/speed_step.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

namespace stepper_sim::motor {
namespace {

constexpr double kRounding_steps_s = 1e-6;  // of some thousand

constexpr double kRounding = 1e-9;

double in(double low, double high) {
    return low + (high - low) * (*rc::gen::inRange(0, 1000001)) * 1e-6;
}

TEST(SpeedStep, UnloadedJumpIsTwiceNaturalRateOverTeeth) {
    const double wn = natural_rate_rad_s(0.4, 1.08e-5, 50);
    EXPECT_NEAR(speed_step_rad_s(0.4, 1.08e-5, 50, 0.0), 2.0 * wn / 50.0, kRounding);
    // As a start rate: 8 fn full steps/s, 200 steps a turn.
    EXPECT_NEAR(speed_step_rad_s(0.4, 1.08e-5, 50, 0.0) * 200.0 / (2.0 * std::numbers::pi),
                8.0 * wn / (2.0 * std::numbers::pi), kRounding_steps_s);
}

TEST(SpeedStep, FullLoadLeavesNoJump) {
    EXPECT_EQ(speed_step_rad_s(0.4, 1e-5, 50, 1.0), 0.0);
    EXPECT_EQ(speed_step_rad_s(0.4, 1e-5, 50, 3.0), 0.0);
}

/// The rotor in the frame of the jumped command: J x'' = -Tm sin(Nr x) + Tm f, thrown back at dw
/// from its loaded rest. Integrated here.
bool survives(double torque, double inertia, double teeth, double f, double dw) {
    double lag = std::asin(f) / teeth;
    double speed = dw;  // the command runs ahead, the lag grows
    const double h = 1e-7;
    for (int i = 0; i < 400000; ++i) {
        speed += h * (-torque * std::sin(teeth * lag) + torque * f) / inertia;
        lag += h * speed;
        if (speed < 0.0) return true;
        if (teeth * lag > std::numbers::pi - std::asin(f)) return false;
    }
    return false;
}

TEST(SpeedStep, LimitSeparatesJumpsThatHoldFromJumpsThatSlip) {
    for (const double f : {0.0, 0.2, 0.5, 0.8}) {
        const double limit = speed_step_rad_s(0.3, 1.2e-5, 50, f);
        EXPECT_TRUE(survives(0.3, 1.2e-5, 50.0, f, 0.998 * limit)) << f;
        EXPECT_FALSE(survives(0.3, 1.2e-5, 50.0, f, 1.002 * limit)) << f;
    }
}

RC_GTEST_PROP(SpeedStep, FallsWithLoadAndWithInertia, ()) {
    const double f = in(0.0, 0.95);
    const double J = in(1e-6, 1e-4);
    const double here = speed_step_rad_s(0.3, J, 50, f);
    RC_ASSERT(speed_step_rad_s(0.3, J, 50, f + 0.05) <= here);
    RC_ASSERT(speed_step_rad_s(0.3, J * 1.1, 50, f) <= here);
}

}  // namespace
}  // namespace stepper_sim::motor
