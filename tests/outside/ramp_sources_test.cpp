/// Step times of ramps against publications on stepper ramps. The unit of length is one step here,
/// so speeds are steps/s. Step n happens at distance n: its time is time_at_distance(profile, n),
/// the same form the pulse core uses.
///
/// [Austin]   D. Austin, "Generate stepper-motor speed profiles in real time", Embedded Systems
/// Programming, January 2005.
///            The 300 r/min example READ in a stored copy of the article text; its table 1 and
///            0.4056 from memory.
/// [AVR446]   Atmel application note AVR446 "Linear speed control of stepper motor" (doc 8017).
///            Formulas READ in copies of sections 2.2 to 2.3.2; the numbers put into them are ours.
/// [Eiderman] A. Eiderman, "Real time stepper motor linear ramping just by addition and
/// multiplication", equations 1 to 6.
///            Formulas READ in a stored copy of the article text; the numbers are ours.
#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "planner/profile/motion.hpp"
#include "planner/profile/trapezoid.hpp"
#include "printed.hpp"

namespace planner {
namespace {

using printed::half_unit;

// 0.4056 against 0.4142: what the scaled recursion is off at its second delay.
constexpr double kScaledRecursion = 0.01;
// Far above the roundings of 200,000 delays, each a difference of times.
constexpr double kLongRun = 1e-6;

constexpr double kRounding =
    1e-12;  // relative, where the source prints a formula and the arithmetic is all there is

/// A ramp from rest, long enough not to end.
Profile ramp(double acceleration, double length = 1e6) {
    return trapezoid(length, 0.0, 1e9, std::sqrt(2.0 * acceleration * length), acceleration);
}

double step_time(const Profile& profile, int step) {
    return time_at_distance(profile, static_cast<double>(step));
}

/// c_n: from step n to step n + 1, counted from 0 as the sources do.
double interval(const Profile& profile, int n) {
    return step_time(profile, n + 1) - step_time(profile, n);
}

/// The recursion of [Austin] and of [AVR446] 2.3.1 from c_(n-1) to c_n: as a ratio.
double recursion_ratio(int n) {
    return 1.0 - 2.0 / (4.0 * n + 1.0);
}

TEST(RampSources, AustinTimerCountAtThreeHundredRevolutionsPerMinute) {
    // READ: with a 1 MHz timer and a 1.8 degree motor, 300 r/min is a delay count of 1000.
    constexpr double kTimer_Hz = 1e6;
    const double steps_s = 300.0 / 60.0 * (360.0 / 1.8);
    const Profile cruise = trapezoid(1000.0, steps_s, steps_s, steps_s, 1.0);
    constexpr double kPrinted = 0.5;  // whole counts
    EXPECT_NEAR(interval(cruise, 500) * kTimer_Hz, 1000.0, kPrinted);
}

TEST(RampSources, AustinTableOfDelayRatios) {
    // From memory: table 1, exact ratio c_n / c_(n-1), the recursion, and the recursion's relative
    // error.
    struct Row {
        int n;
        double exact, recursion, error,
            error_digit;  // error_digit: half a unit of the error's last printed digit
    };
    // The recalled error of n = 3 is 0.00370, but the exact value is 0.0036948: it rounds to
    // 0.0037, not to 0.00370. Whether the print or the memory of it is off is open, so that row is
    // held to 0.0037 only.
    constexpr std::array kTable{
        Row{1, 0.4142, 0.6000, 0.4485, 5e-5},      Row{2, 0.7673, 0.7778, 0.0136, 5e-5},
        Row{3, 0.8430, 0.8462, 0.0037, 5e-5},      Row{4, 0.8810, 0.8824, 0.00152, 5e-6},
        Row{5, 0.9041, 0.9048, 0.000766, 5e-7},    Row{6, 0.9196, 0.9200, 0.000441, 5e-7},
        Row{10, 0.9511, 0.9512, 9.42e-5, 5e-8},    Row{100, 0.9950, 0.9950, 9.38e-8, 5e-11},
        Row{1000, 0.9995, 0.9995, 9.37e-11, 5e-14}};
    constexpr double kFourDigits = 5e-5;
    const Profile r = ramp(1.0);
    for (const Row& row : kTable) {
        const double exact = interval(r, row.n) / interval(r, row.n - 1);
        EXPECT_NEAR(exact, row.exact, kFourDigits) << row.n;
        EXPECT_NEAR(recursion_ratio(row.n), row.recursion, kFourDigits) << row.n;
        // A double holds step times to half an ulp; their differences shrink as the time grows. At
        // n = 1000 this, not the print, is what limits the comparison (to two digits).
        const double rounding = 4.0 * 1.1e-16 * step_time(r, row.n) / interval(r, row.n);
        EXPECT_NEAR(recursion_ratio(row.n) / exact - 1.0, row.error, row.error_digit + rounding)
            << row.n;
    }
}

TEST(RampSources, AustinErrorOfTheThirdRatioDoesNotReproduceToThreeDigits) {
    const Profile r = ramp(1.0);
    const double error = recursion_ratio(3) * interval(r, 2) / interval(r, 3) - 1.0;
    EXPECT_NEAR(error, 0.0036948,
                half_unit(7));  // derived: (11/13) / ((2 - sqrt3) / (sqrt3 - sqrt2)) - 1
    EXPECT_GT(std::abs(error - 0.00370), 5e-6);
}

TEST(RampSources, AustinCorrectedFirstDelay) {
    // 0.676 READ (in copies of AVR446); 0.4056 from memory: the recursion's second delay
    // after scaling the first by 0.676.
    const Profile r = ramp(1000.0);
    EXPECT_NEAR(0.676 * recursion_ratio(1), 0.4056, half_unit(4));
    // Our exact second delay is 0.4142 of the first: so close the scaled recursion comes.
    EXPECT_NEAR(interval(r, 1) / interval(r, 0), 0.4056, kScaledRecursion);
    // Derived: the factor that makes the recursion meet the exact ramp in the long run, Gamma(3/4)
    // / (2 Gamma(5/4)), rounds to 0.676.
    constexpr int kLong = 200000;
    double recursion = interval(r, 0);
    for (int n = 1; n <= kLong; ++n) {
        recursion *= recursion_ratio(n);
    }
    const double factor = interval(r, kLong) / recursion;
    EXPECT_NEAR(factor, std::tgamma(0.75) / (2.0 * std::tgamma(1.25)), kLongRun);
    EXPECT_NEAR(factor, 0.676, half_unit(3));
}

TEST(RampSources, Avr446StepTimesFromRest) {
    // READ formulas, sections 2.3.1 and 5.1: c_0 = f sqrt(2 / a), step n at sqrt(2 n / a). Here a =
    // 2500 steps/s^2, f = 2 MHz.
    constexpr double kTimer_Hz = 2e6;
    const Profile r = ramp(2500.0);
    EXPECT_NEAR(interval(r, 0) * kTimer_Hz, 56568.54249, half_unit(5));
    EXPECT_NEAR(interval(r, 150) * kTimer_Hz, 2305.564852, half_unit(6));
    EXPECT_NEAR(step_time(r, 150) * kTimer_Hz, 692820.323, half_unit(3));
}

TEST(RampSources, Avr446StepsToReachASpeed) {
    // READ formula, section 2.3.2: n = v^2 / (2 a), and n1 a1 = n2 a2 for the same speed at another
    // acceleration.
    const Profile slow = trapezoid(5000.0, 0.0, 1000.0, 0.0, 1000.0);
    const Profile quick = trapezoid(5000.0, 0.0, 1000.0, 0.0, 2500.0);
    EXPECT_NEAR(slow.phases[1].start_distance_m, 500.0, 500.0 * kRounding);
    EXPECT_NEAR(quick.phases[1].start_distance_m, 200.0, 200.0 * kRounding);
    EXPECT_NEAR(speed_at(ramp(2500.0), step_time(ramp(2500.0), 200)), 1000.0, 1000.0 * kRounding);
}

TEST(RampSources, Avr446TriangleSplitsByTheAccelerations) {
    // READ formula, section 2.3.2: of N steps, N a2 / (a1 + a2) speed up. 1000 steps at 1000 up and
    // 3000 down: 750 up.
    const double peak = std::sqrt(2.0 * 1000.0 * 750.0);
    const Profile up = trapezoid(750.0, 0.0, 1e9, peak, 1000.0);
    const Profile down = trapezoid(250.0, peak, 1e9, 0.0, 3000.0);
    ASSERT_EQ(up.count, 1);
    ASSERT_EQ(down.count, 1);
    EXPECT_NEAR(up.phases[0].acceleration_m_s2, 1000.0, 1000.0 * kRounding);
    EXPECT_NEAR(down.phases[0].acceleration_m_s2, -3000.0, 3000.0 * kRounding);
    EXPECT_NEAR(speed_at(up, up.duration_s), speed_at(down, 0.0), peak * kRounding);
}

TEST(RampSources, EidermanRampFromAStartRate) {
    // READ formulas: S = (v^2 - v0^2) / (2 a) steps; speed after each step v_i = sqrt(v_(i-1)^2 + 2
    // a). 200 to 1000 at 2000: 240 steps.
    const Profile p = trapezoid(240.0, 200.0, 1e9, 1000.0, 2000.0);
    ASSERT_EQ(p.count, 1);
    EXPECT_NEAR(p.phases[0].acceleration_m_s2, 2000.0, 2000.0 * kRounding);
    EXPECT_NEAR(p.duration_s, 0.4, 0.4 * kRounding);
    double v = 200.0;
    for (int step = 1; step <= 240; ++step) {
        v = std::sqrt(v * v + 2.0 * 2000.0);
        ASSERT_NEAR(speed_at(p, step_time(p, step)), v, v * kRounding) << step;
    }
    EXPECT_NEAR(v, 1000.0, 1000.0 * kRounding);
}

TEST(RampSources, MidIntervalRuleIsShortByItsSeries) {
    // Derived: c_n is f / sqrt(2 a (n + 1/2)) but for 1 / (32 (n + 1/2)^2), to first order. n = 10,
    // a = 1000, f = 1 MHz.
    constexpr double kTimer_Hz = 1e6;
    const double exact = interval(ramp(1000.0), 10) * kTimer_Hz;
    const double rule = kTimer_Hz / std::sqrt(2.0 * 1000.0 * 10.5);
    EXPECT_NEAR(exact, 6902.613505, half_unit(6));
    const double first_order = -1.0 / (32.0 * 10.5 * 10.5);
    constexpr double kNextOrder = 1.0 / (10.5 * 10.5 * 10.5 * 10.5);
    EXPECT_NEAR(rule / exact - 1.0, first_order, kNextOrder);
}

}  // namespace
}  // namespace planner
