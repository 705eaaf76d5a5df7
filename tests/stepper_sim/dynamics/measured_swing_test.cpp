#include "stepper_sim/dynamics/measured_swing.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "test_axes.hpp"

namespace {

using namespace stepper_sim;

constexpr double kRounding_s = 1e-12;  // of sums of a few durations

double sum_s(const dynamics::SwingStretch& stretch) {
    double sum_s = 0.0;
    for (const dynamics::RatePhase& phase : stretch.phases)
        sum_s += phase.duration_s;
    return sum_s;
}

// Cruises of 0.3 s; the mark lies at the begin of the sixth, 1.5 s into them. What lies more than a second before it is gone, what
// comes a tenth of a second after it is there.
TEST(StretchKeeper, KeepsASecondBeforeTheMarkAndATenthAfter) {
    dynamics::StretchKeeper keeper;
    for (int i = 0; i < 9; ++i) {
        keeper.add({0.3, 1.0 + i, 0.0});
        if (i == 5) keeper.mark(dynamics::StretchKeeper::Kind::ringing, 0.3, 0.0);
        keeper.end_move();
    }
    const dynamics::SwingStretch stretch = keeper.take(dynamics::StretchKeeper::Kind::ringing);
    ASSERT_FALSE(stretch.phases.empty());
    EXPECT_NEAR(stretch.look_from_s, dynamics::kSwingBefore_s - dynamics::kSwingAfter_s,
                kRounding_s);
    EXPECT_NEAR(stretch.look_to_s, dynamics::kSwingBefore_s + dynamics::kSwingAfter_s, kRounding_s);
    EXPECT_NEAR(stretch.phases.front().duration_s, 0.1, kRounding_s);
    EXPECT_EQ(stretch.phases.front().start_rate_rad_s, 2.0);
    EXPECT_EQ(stretch.phases.back().start_rate_rad_s, 6.0);
}

// A move of 3 s whose ramp lies further back than a second: the mark at its begin still has what came before.
TEST(StretchKeeper, KeepsWhatCameBeforeALongMove) {
    dynamics::StretchKeeper keeper;
    keeper.add({0.5, 7.0, 0.0});
    keeper.end_move();
    keeper.add({0.1, 7.0, 20.0});
    keeper.add({2.9, 9.0, 0.0});
    keeper.mark(dynamics::StretchKeeper::Kind::swing, 3.0, 3.0);
    keeper.end_move();
    const dynamics::SwingStretch stretch = keeper.take(dynamics::StretchKeeper::Kind::swing);
    ASSERT_EQ(stretch.phases.size(), 3U);
    EXPECT_NEAR(stretch.look_from_s, 0.5 - dynamics::kSwingAfter_s, kRounding_s);
    EXPECT_NEAR(sum_s(stretch), stretch.look_to_s, kRounding_s);
}

// Else a cruise of an hour would be simulated with all its pulses.
TEST(StretchKeeper, HoldsNoMoreOfALongMoveThanIsLookedAt) {
    dynamics::StretchKeeper keeper;
    keeper.add({3600.0, 100.0, 0.0});
    keeper.mark(dynamics::StretchKeeper::Kind::swing, 3600.0, 3600.0);
    keeper.end_move();
    keeper.add({3600.0, -100.0, 0.0});
    keeper.mark(dynamics::StretchKeeper::Kind::ringing, 3600.0, 0.0);
    keeper.end_move();
    for (const auto kind :
         {dynamics::StretchKeeper::Kind::swing, dynamics::StretchKeeper::Kind::ringing}) {
        const dynamics::SwingStretch stretch = keeper.take(kind);
        EXPECT_GT(sum_s(stretch), 0.0);
        EXPECT_LE(sum_s(stretch), stretch.look_to_s + 1e-9);
        EXPECT_LT(sum_s(stretch), 3.0);
    }
}

TEST(StretchKeeper, HasNothingWhereNothingWasMarked) {
    dynamics::StretchKeeper keeper;
    keeper.add({0.5, 7.0, 0.0});
    keeper.end_move();
    EXPECT_TRUE(keeper.take(dynamics::StretchKeeper::Kind::crawl).phases.empty());
}

// A stop from speed v leaves a free swing of the load of v/w, w its own frequency on a rotor that holds; damping and friction only take
// from it, and the rotor, which gives a little, adds less than a tenth.
TEST(MeasuredSwing, AStopFromSpeedRingsBySpeedOverFrequency) {
    dynamics::AxisDynamics axis = dynamics::test::belt_axis();
    axis.coulomb_Nm = 0.0;
    const double rate_rad_s = 1.0;
    const dynamics::MeasuredSwing swing =
        dynamics::measure_swing(axis, {{{0.5, rate_rad_s, 0.0}, {0.5, 0.0, 0.0}}, 0.45, 1.0});
    ASSERT_FALSE(swing.lost);
    const double w_rad_s = dynamics::vibration_modes(axis).mode[0].rate_rad_s;
    EXPECT_LT(swing.amplitude_rad, 1.1 * rate_rad_s / w_rad_s);
    EXPECT_GT(swing.amplitude_rad, 0.7 * rate_rad_s / w_rad_s);
}

TEST(MeasuredSwing, TellsThatSynchronismIsLost) {
    const dynamics::MeasuredSwing swing = dynamics::measure_swing(
        dynamics::test::belt_axis(),
        {{{0.1, 0.0, 0.0}, {0.4, 2000.0, 0.0}}, 0.0, 0.5});  // from rest at once
    EXPECT_TRUE(swing.lost);
}

}  // namespace
