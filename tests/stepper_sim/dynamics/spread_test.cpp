#include "stepper_sim/dynamics/spread.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <vector>

#include "stepper_sim/dynamics/step_edges.hpp"
#include "test_axes.hpp"

namespace stepper_sim::dynamics {
namespace {

TEST(Spread, SameSeedGivesTheSameDraw) {
    const AxisDynamics axis = test::belt_axis();
    const AxisDynamics a = draw_axis(axis, {}, 7, 3), b = draw_axis(axis, {}, 7, 3);
    EXPECT_EQ(a.coulomb_Nm, b.coulomb_Nm);
    EXPECT_EQ(a.stiffness_Nm_rad, b.stiffness_Nm_rad);
    EXPECT_NE(a.coulomb_Nm, draw_axis(axis, {}, 7, 4).coulomb_Nm);
    EXPECT_NE(a.coulomb_Nm, draw_axis(axis, {}, 8, 3).coulomb_Nm);
}

TEST(Spread, DrawsStayInsideTheirBands) {
    const AxisDynamics axis = test::belt_axis();
    const Spread spread;
    constexpr std::uint64_t kDraws = 500;
    constexpr double kRounding = 1e-12;
    // Of 500 even draws none lies in a thirtieth of the band with a chance of e^-17.
    constexpr double kNearEnd = 1.0 / 30.0;
    const auto expect_band = [&](double AxisDynamics::*figure, double low, double high) {
        double least = high, most = low;
        for (std::uint64_t i = 0; i < kDraws; ++i) {
            const double factor = draw_axis(axis, spread, 1, i).*figure / (axis.*figure);
            least = std::min(least, factor);
            most = std::max(most, factor);
        }
        EXPECT_GE(least, low - kRounding);
        EXPECT_LE(most, high + kRounding);
        EXPECT_LT(least, low + kNearEnd * (high - low));
        EXPECT_GT(most, high - kNearEnd * (high - low));
    };
    expect_band(&AxisDynamics::coulomb_Nm, 0.7, 1.3);
    expect_band(&AxisDynamics::load_inertia_kg_m2, 0.9, 1.1);
    expect_band(&AxisDynamics::stiffness_Nm_rad, 0.8, 1.2);
    expect_band(&AxisDynamics::supply_V, 0.95, 1.0);
    expect_band(&AxisDynamics::rotor_viscous_Nms_rad, 1.0 / 3.0, 3.0);
    expect_band(&AxisDynamics::coupling_damping_Nms_rad, 0.5, 2.5);
}

TEST(Spread, LikelihoodIsNoneForAGentleMoveAndOneForAViolentOne) {
    const AxisDynamics axis = test::belt_axis();
    const auto likelihood = [&](double top_rad_s, double ramp_s) {
        constexpr double kSettle_s = 0.15;
        const double way_rad_s2 = top_rad_s / ramp_s;
        const std::vector<RatePhase> phases{{ramp_s, 0.0, way_rad_s2},
                                            {ramp_s, top_rad_s, -way_rad_s2}};
        const auto edges = ideal_edges(phases, microstep_angle_rad(axis));
        const WindowRun run{&axis, edges, 2.0 * ramp_s + kSettle_s, 0.0, top_rad_s};
        return slip_likelihood({&run, 1}, {}, 12, 1);
    };
    EXPECT_EQ(likelihood(200.0, 0.002), 1.0);
    EXPECT_EQ(likelihood(30.0, 0.1), 0.0);
}

}  // namespace
}  // namespace stepper_sim::dynamics
