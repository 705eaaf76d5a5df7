/// Trapezoids against published rules and examples. Each check names its source and whether it was
/// read.
#include <gtest/gtest.h>

#include <cmath>

#include "planner/profile/motion.hpp"
#include "planner/profile/trapezoid.hpp"

namespace planner {
namespace {

constexpr double kRounding = 1e-12;   // relative, where the source gives a formula
constexpr double kFourDigits = 5e-5;  // half a unit of the last printed digit

TEST(TrapezoidSources, LynchAndParkDurationOnAUnitPath) {
    // K. Lynch, F. Park, Modern Robotics (2017), section 9.2.2.2, from memory:
    // T = (a + v^2) / (v a) where v^2 / a <= 1, else the triangle's 2 / sqrt(a). The numbers are
    // ours.
    EXPECT_NEAR(trapezoid(1.0, 0.0, 1.2, 0.0, 4.0).duration_s, (4.0 + 1.44) / 4.8, kRounding);
    EXPECT_NEAR(trapezoid(1.0, 0.0, 3.0, 0.0, 4.0).duration_s, 1.0, kRounding);
}

TEST(TrapezoidSources, SicilianoStraightPathInTwoSeconds) {
    // B. Siciliano et al., Robotics: Modelling, Planning and Control, problem 4.7: a path of sqrt2
    // in 2 s with cruise speed 1. Inputs READ in the authors' solution script; the results 0.5858 s
    // and 1.7071 from memory.
    const Profile p = trapezoid(std::sqrt(2.0), 0.0, 1.0, 0.0, 1.7071068);
    ASSERT_EQ(p.count, 3);
    EXPECT_NEAR(p.duration_s, 2.0, kFourDigits);
    EXPECT_NEAR(p.phases[0].duration_s, 0.5858, kFourDigits);
}

TEST(TrapezoidSources, OneThirdTrapezoidAndTriangleRules) {
    // Common practice, factors from memory: v = 1.5 d / t, a = 4.5 d / t^2; triangle: v = 2 d / t,
    // a = 4 d / t^2. 300 mm in 0.6 s: 0.75 m/s at 3.75 m/s^2, or a peak of 1 m/s at 3.333 m/s^2.
    const Profile thirds = trapezoid(0.3, 0.0, 0.75, 0.0, 3.75);
    ASSERT_EQ(thirds.count, 3);
    for (const Phase& phase : thirds.phases) {
        EXPECT_NEAR(phase.duration_s, 0.2, kRounding);
    }
    const Profile triangle = trapezoid(0.3, 0.0, 1e3, 0.0, 4.0 * 0.3 / 0.36);
    EXPECT_NEAR(triangle.duration_s, 0.6, kRounding);
    EXPECT_NEAR(peak_speed(triangle), 1.0, kRounding);
}

TEST(TrapezoidSources, CruiseSpeedForAGivenTimeWithUnequalRamps) {
    // A forum question (inputs READ; its asker expected slightly above 500): 10000 counts in 20 s,
    // 1000 counts/s^2 up and 1100 down. The result 512.5377 is derived: the smaller root of v t -
    // v^2 / 2 (1/a + 1/d) = distance.
    constexpr double kV = 512.5377114;
    const double up = kV * kV / 2000.0;
    const double down = kV * kV / 2200.0;
    const double time_s = trapezoid(up, 0.0, kV, kV, 1000.0).duration_s +
                          trapezoid(10000.0 - up - down, kV, kV, kV, 1000.0).duration_s +
                          trapezoid(down, kV, kV, 0.0, 1100.0).duration_s;
    constexpr double kPrinted = 20.0 * 1e-10;  // ten printed digits
    EXPECT_NEAR(time_s, 20.0, kPrinted);
}

}  // namespace
}  // namespace planner
