/// Motor theory from published worked figures. READ: the figure was seen in the source named; from
/// memory: recalled, not seen.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "printed.hpp"
#include "stepper_sim/motor/asked_torque.hpp"
#include "stepper_sim/motor/speed_step.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::outside {
namespace {

using printed::half_unit;

constexpr double kRounding = 1e-12;  // of a quotient, and of some hundred hertz

constexpr double kTwoPi = 2.0 * std::numbers::pi;

/// READ: industrialmonitordirect.com, "Stepper Motor Natural Frequency: Correct Formula and Unit
/// Conversion" (question at eng-tips.com, thread 191833): 0.32 N cm winds a shaft of 48 g cm^2 up
/// by 0.3 deg; printed 0.611 N m/rad, 357 rad/s, 56.8 Hz.
TEST(NaturalFrequency, MeasuredWindUp) {
    const double stiffness = 0.32e-2 / (0.3 * std::numbers::pi / 180.0);
    EXPECT_NEAR(stiffness, 0.611, half_unit(3));
    // Torque times teeth is the stiffness at the rest position.
    const double rate = motor::natural_rate_rad_s(stiffness / 50.0, 48e-7, 50);
    EXPECT_NEAR(rate, 357.0, half_unit(0));
    EXPECT_NEAR(rate / kTwoPi, 56.8, half_unit(1));
}

/// READ: D. W. Jones, "Stepping motor physics" (hobbyprojects.com copy), f = sqrt(k/mu)/(2 pi) with
/// k = T (pi/2)/S for a step angle S; the tooth form is P. Acarnley, Stepping Motors, ch. 4, from
/// memory. Numbers ours: 0.4 N m, 108 g cm^2.
TEST(NaturalFrequency, ToothFormIsTheStepAngleForm) {
    const double step_rad = 1.8 * std::numbers::pi / 180.0;
    const double by_step = std::sqrt(0.4 * (0.5 * std::numbers::pi) / step_rad / 1.08e-5) / kTwoPi;
    EXPECT_NEAR(motor::natural_rate_rad_s(0.4, 1.08e-5, 50) / kTwoPi, by_step, kRounding);
    EXPECT_NEAR(by_step, 216.582, half_unit(3));
}

/// Pull-out torque of a hybrid motor on a voltage drive, T = p psi (V/Z - w psi R/Z^2): form as in
/// P. Acarnley, Stepping Motors, ch. 5 (from memory), numbers ours: 0.4 N m at 1.68 A, 24 V, 1.65
/// ohm, 2.8 mH, 2000 full steps/s; computed independently: 0.4147852 N m. With the current left
/// free the voltage limit must give that figure; with 1.68 A RMS it must cap it at the holding
/// torque.
TEST(PullOutExample, HybridMotorOnAVoltageDrive) {
    motor::MotorConstants m;
    m.resistance_ohm = 1.65;
    m.inductance_H = 2.8e-3;
    m.torque_constant_Nm_A = 0.4 / (std::numbers::sqrt2 * 1.68);
    const double rate = 2000.0 * kTwoPi / 200.0;
    constexpr double kPrinted = half_unit(7);
    EXPECT_NEAR(motor::ideal_torque_Nm(m, 100.0, 24.0, rate), 0.4147852, kPrinted);
    EXPECT_LE(motor::ideal_torque_Nm(m, 1.68 * std::numbers::sqrt2, 24.0, rate), 0.4);
    EXPECT_LT(motor::rounded_torque_Nm(m, 1.68 * std::numbers::sqrt2, 24.0, rate),
              motor::ideal_torque_Nm(m, 1.68 * std::numbers::sqrt2, 24.0, rate));
}

/// READ: D. W. Jones, stepping-motor control tutorial: with plain full or half steps usable torque
/// swings by the root of two. The same factor stands between a current read as RMS and as peak.
TEST(PullOutExample, RootOfTwoBetweenRmsAndPeak) {
    machine::RatedCurrent rms{planner::from_si<planner::Current>(1.0), machine::CurrentBasis::rms};
    machine::RatedCurrent peak{planner::from_si<planner::Current>(1.0),
                               machine::CurrentBasis::peak};
    EXPECT_NEAR(rms.peak() / peak.peak(), std::sqrt(2.0), kRounding);
}

}  // namespace
}  // namespace stepper_sim::outside
