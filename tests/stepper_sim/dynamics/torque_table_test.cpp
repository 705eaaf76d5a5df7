#include "stepper_sim/dynamics/torque_table.hpp"

#include <gtest/gtest.h>

namespace stepper_sim::dynamics {
namespace {

constexpr double kRounding_Nm = 1e-12;

TorqueTable falling() {
    return TorqueTable([](double rate_rad_s) { return 0.5 - 0.001 * rate_rad_s; }, 400.0);
}

TEST(TorqueTable, MeetsAStraightCurveBetweenGridPoints) {
    EXPECT_NEAR(falling().at(123.456), 0.5 - 0.123456, kRounding_Nm);
    EXPECT_NEAR(falling().at(0.0), 0.5, kRounding_Nm);
    EXPECT_NEAR(falling().at(400.0), 0.1, kRounding_Nm);
}

TEST(TorqueTable, IsTheSameBackwards) {
    EXPECT_EQ(falling().at(-77.0), falling().at(77.0));
}

TEST(TorqueTable, MakesNoTorqueBeyondItsLastSpeed) {
    EXPECT_EQ(falling().at(400.1), 0.0);
    EXPECT_EQ(falling().floor(400.1), 0.0);
}

TEST(TorqueTable, FloorIsBelowEveryTorqueUpToTheSpeed) {
    const TorqueTable dip(
        [](double rate_rad_s) { return rate_rad_s > 50.0 && rate_rad_s < 60.0 ? 0.1 : 0.4; },
        400.0);
    EXPECT_NEAR(dip.floor(200.0), 0.1, kRounding_Nm);
    EXPECT_NEAR(dip.floor(40.0), 0.4, kRounding_Nm);
    for (int rate = 0; rate < 400; ++rate)
        EXPECT_LE(dip.floor(400.0), dip.at(rate));
}

}  // namespace
}  // namespace stepper_sim::dynamics
