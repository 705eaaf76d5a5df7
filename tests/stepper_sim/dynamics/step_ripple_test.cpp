#include "stepper_sim/dynamics/step_ripple.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "stepper_sim/dynamics/full_model.hpp"
#include "test_axes.hpp"

namespace {

using namespace stepper_sim;

constexpr double kLong_s = 10.0, kTop_rad_s = 100.0;

dynamics::AxisDynamics full_step_axis() {
    dynamics::AxisDynamics axis = dynamics::test::rigid_axis();
    axis.microsteps = 1;
    return axis;
}

/// Speed at which the first harmonic of the steps meets the axis's own swing.
double own_rate_rad_s(const dynamics::AxisDynamics& axis) {
    return dynamics::vibration_modes(axis).mode[0].rate_rad_s / (2.0 * std::numbers::pi) *
           dynamics::microstep_angle_rad(axis);
}

TEST(StepRipple, IsLargestWhereStepsMeetTheAxis) {
    const dynamics::AxisDynamics axis = full_step_axis();
    const dynamics::StepRipple ripple({&axis, 1}, kTop_rad_s);
    const double own = own_rate_rad_s(axis);
    const double there_Nm = ripple.torque_Nm(own, own, kLong_s);
    EXPECT_GT(there_Nm, 1.5 * ripple.torque_Nm(1.5 * own, 1.5 * own, kLong_s));
    EXPECT_GT(there_Nm, 1.5 * ripple.torque_Nm(4.0 * own, 4.0 * own, kLong_s));
}

// Half a step of lag is there from the first pulse on; more needs time to grow, and a speed that only passes by gives it little.
TEST(StepRipple, GrowsWithTimeAndLessWhereTheSpeedPassesBy) {
    const dynamics::AxisDynamics axis = full_step_axis();
    const dynamics::StepRipple ripple({&axis, 1}, kTop_rad_s);
    const double own = own_rate_rad_s(axis);
    const double half_step_Nm =
        0.5 * dynamics::microstep_angle_rad(axis) * dynamics::magnetic_stiffness_Nm_rad(axis);
    const double period_s = dynamics::microstep_angle_rad(axis) / own;
    EXPECT_DOUBLE_EQ(ripple.torque_Nm(own, own, 0.01 * period_s), half_step_Nm);
    EXPECT_GT(ripple.torque_Nm(own, own, kLong_s), ripple.torque_Nm(own, own, 2.0 * period_s));
    EXPECT_LT(ripple.torque_Nm(0.0, 2.0 * own, 0.1), ripple.torque_Nm(own, own, kLong_s));
}

TEST(StepRipple, StandsStillWithoutSteps) {
    const dynamics::AxisDynamics axis = full_step_axis();
    EXPECT_EQ(dynamics::StepRipple({&axis, 1}, kTop_rad_s).torque_Nm(0.0, 0.0, kLong_s), 0.0);
}

// A sixteenth of the step shakes by a sixteenth; where it meets the axis, friction still leaves less than of full steps.
TEST(StepRipple, FinerStepsShakeLess) {
    const dynamics::AxisDynamics coarse = full_step_axis();
    dynamics::AxisDynamics fine = coarse;
    fine.microsteps = 16;
    const dynamics::StepRipple of_coarse({&coarse, 1}, kTop_rad_s), of_fine({&fine, 1}, kTop_rad_s);
    for (const double rate_rad_s : {0.5, 2.0, 8.0, 32.0})
        EXPECT_LT(of_fine.torque_Nm(rate_rad_s, rate_rad_s, kLong_s),
                  of_coarse.torque_Nm(rate_rad_s, rate_rad_s, kLong_s));
}

}  // namespace
