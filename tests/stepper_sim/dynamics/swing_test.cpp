#include "stepper_sim/dynamics/swing.hpp"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <utility>

namespace stepper_sim::dynamics {
namespace {

constexpr double kRounding = std::numeric_limits<double>::epsilon() / 2.0;

/// Even over powers of ten.
double spread_over(double least, double most) {
    const double share = 1e-6 * *rc::gen::inRange(0, 1000001);
    return least * std::pow(most / least, share);
}

RC_GTEST_PROP(Swing, TurnAgreesWithTheLibrarysFunctions, ()) {
    const Pair decay_1_s{spread_over(1e-3, 1e3), spread_over(1e-3, 1e3)};
    const Pair rate_rad_s{spread_over(1.0, 3e4), spread_over(1.0, 3e4)};
    const double time_s = (*rc::gen::arbitrary<bool>() ? 1.0 : -1e-4) * spread_over(1e-6, 50.0);
    const Turn turn = turn_over(decay_1_s, rate_rad_s, time_s);
    for (std::size_t k = 0; k < 2; ++k) {
        const double kept = std::exp(-std::fmin(decay_1_s[k] * time_s, series::kMostDecay));
        const double bound = 4.0 * kRounding * kept;  // as stated
        RC_ASSERT(std::fabs(turn.cos[k] - kept * std::cos(rate_rad_s[k] * time_s)) <= bound);
        RC_ASSERT(std::fabs(turn.sin[k] - kept * std::sin(rate_rad_s[k] * time_s)) <= bound);
    }
}

// Where the series have most to do: at the middle between two powers of 2, and at an eighth of a turn.
TEST(Swing, SeriesAgreeWithTheLibraryAllAlongTheirRange) {
    constexpr int kSteps = 20000;
    for (int i = -kSteps; i <= kSteps; ++i) {
        const double x = 2.0 * i / kSteps;
        const Turn turn = series::cosine_and_sine(both(x));
        EXPECT_NEAR(series::exponential(both(x))[0], std::exp(x), 4.0 * kRounding * std::exp(x));
        EXPECT_NEAR(turn.cos[0], std::cos(x), 2.0 * kRounding);
        EXPECT_NEAR(turn.sin[0], std::sin(x), 2.0 * kRounding);
    }
}

// Near whole quarters one of the two is nearly nothing; the reduction must keep its digits.
TEST(Swing, TurnKeepsTheDigitsNearWholeQuarters) {
    for (double quarters = 1.0; quarters < 1e6; quarters = 3.0 * quarters + 2.0) {
        const double angle_rad = quarters * (std::numbers::pi / 2.0);
        const Turn turn = turn_over(Pair{}, Pair{angle_rad, angle_rad}, 1.0);
        for (const auto& [ours, library] : {std::pair(turn.cos[0], std::cos(angle_rad)),
                                            std::pair(turn.sin[0], std::sin(angle_rad))})
            EXPECT_NEAR(ours, library, 4.0 * kRounding * std::fabs(library)) << quarters;
    }
}

TEST(Swing, ALongTurnIsThatOfItsHalfTwice) {
    const Pair decay_1_s{1e-4, 1e-5}, rate_rad_s{1234.5, 20000.25};
    const double long_s = 8192.0;  // 1.6e8 rad: halved seven times
    const Turn whole = turn_over(decay_1_s, rate_rad_s, long_s);
    for (std::size_t k = 0; k < 2; ++k) {
        const double kept = std::exp(-decay_1_s[k] * long_s);
        const double bound = 128.0 * 4.0 * kRounding * kept;  // doubled with each squaring
        EXPECT_NEAR(whole.cos[k], kept * std::cos(rate_rad_s[k] * long_s), bound);
        EXPECT_NEAR(whole.sin[k], kept * std::sin(rate_rad_s[k] * long_s), bound);
    }
}

TEST(Swing, NothingIsLeftAfterALongDecay) {
    const Turn turn = turn_over(Pair{1.0, 1e3}, Pair{100.0, 1e4}, 1e4);
    const double kNothing = 1e-300;
    for (std::size_t k = 0; k < 2; ++k) {
        EXPECT_LT(std::fabs(turn.cos[k]), kNothing);
        EXPECT_LT(std::fabs(turn.sin[k]), kNothing);
    }
}

}  // namespace
}  // namespace stepper_sim::dynamics
