#include "stepper_sim/dynamics/confirm.hpp"

#include <gtest/gtest.h>

#include <array>

#include "stepper_sim/dynamics/spread.hpp"
#include "test_axes.hpp"

namespace stepper_sim {
namespace {

std::vector<StepEdge> start_and_stop(const AxisDynamics& axis, double rate_rad_s, double ramp_s) {
    const std::vector<RatePhase> phases{{ramp_s, 0.0, rate_rad_s / ramp_s},
                                        {0.1, rate_rad_s, 0.0},
                                        {ramp_s, rate_rad_s, -rate_rad_s / ramp_s}};
    return ideal_edges(phases, microstep_angle_rad(axis));
}

TEST(Confirm, SlipsOfBothRegulatorsAreLikely) {
    const AxisDynamics axis = test::belt_axis();
    const auto violent = start_and_stop(axis, 60.0, 0.002);
    const auto gentle = start_and_stop(axis, 30.0, 0.1);
    const std::array<WindowCase, 2> cases{WindowCase{&axis, violent, 0.16, 0.0, 60.0, false},
                                          WindowCase{&axis, gentle, 0.35, 0.0, 30.0, false}};
    std::array<Confirmation, 2> results;
    confirm(cases, results);
    EXPECT_EQ(results[0].verdict, SlipVerdict::likely);
    EXPECT_GE(results[0].lost_time_s, 0.0);
    EXPECT_EQ(results[0].slips, 2);
    EXPECT_EQ(results[1].verdict, SlipVerdict::passes);
    EXPECT_LT(results[1].lost_time_s, 0.0);
    EXPECT_GT(results[1].peak_load_angle_rad, 0.0);
}

TEST(Confirm, LongCruiseIsTriedAtThirdAndThreefoldDamping) {
    const AxisDynamics axis = test::belt_axis();
    const double fast = 1.2 * base_rate_rad_s(axis);
    const std::vector<RatePhase> phases{{0.3, 0.0, fast / 0.3}, {0.3, fast, 0.0}};
    const auto edges = ideal_edges(phases, microstep_angle_rad(axis));
    std::array<Confirmation, 1> results;
    const std::array<WindowCase, 1> cases{WindowCase{&axis, edges, 0.6, 0.0, fast, true}};
    confirm(cases, results);
    EXPECT_EQ(results[0].runs, 6);
}

TEST(Confirm, CruiseFarAboveTheCornerDependsOnDamping) {
    AxisDynamics axis = test::belt_axis();
    axis.coulomb_Nm = 0.0;  // nothing but the viscous friction calms the swing
    const double fast = 2.2 * base_rate_rad_s(axis);
    const std::vector<RatePhase> phases{{0.4, 0.0, fast / 0.4}, {0.4, fast, 0.0}};
    const auto edges = ideal_edges(phases, microstep_angle_rad(axis));
    std::array<Confirmation, 1> results;
    const std::array<WindowCase, 1> cases{WindowCase{&axis, edges, 0.8, 0.0, fast, true}};
    confirm(cases, results);
    EXPECT_TRUE(results[0].damping_decides);
    EXPECT_EQ(results[0].verdict, SlipVerdict::possible);
}

TEST(Spread, SameSeedGivesTheSameDraw) {
    const AxisDynamics axis = test::belt_axis();
    const AxisDynamics a = draw_axis(axis, {}, 7, 3);
    const AxisDynamics b = draw_axis(axis, {}, 7, 3);
    const AxisDynamics c = draw_axis(axis, {}, 7, 4);
    EXPECT_EQ(a.coulomb_Nm, b.coulomb_Nm);
    EXPECT_EQ(a.stiffness_Nm_rad, b.stiffness_Nm_rad);
    EXPECT_NE(a.coulomb_Nm, c.coulomb_Nm);
}

TEST(Spread, DrawsStayInsideTheirBands) {
    const AxisDynamics axis = test::belt_axis();
    double lowest = 2.0;
    double highest = 0.0;
    const double kRounding = 1e-12;
    for (std::uint64_t i = 0; i < 500; ++i) {
        const AxisDynamics drawn = draw_axis(axis, {}, 1, i);
        const double friction = drawn.coulomb_Nm / axis.coulomb_Nm;
        lowest = std::min(lowest, friction);
        highest = std::max(highest, friction);
        const double viscous = drawn.rotor_viscous_Nms_rad / axis.rotor_viscous_Nms_rad;
        ASSERT_GE(viscous, 1.0 / 3.0 - kRounding);
        ASSERT_LE(viscous, 3.0 + kRounding);
        ASSERT_LE(drawn.supply_V, axis.supply_V);
        ASSERT_GE(drawn.supply_V, (0.95 - kRounding) * axis.supply_V);
    }
    EXPECT_GE(lowest, 0.7);
    EXPECT_LT(lowest, 0.72);  // 500 even draws reach within a thirtieth of the ends
    EXPECT_LE(highest, 1.3);
    EXPECT_GT(highest, 1.28);
}

TEST(Spread, LikelihoodIsNoneForAGentleMoveAndOneForAViolentOne) {
    const AxisDynamics axis = test::belt_axis();
    const auto violent = start_and_stop(axis, 60.0, 0.002);
    const auto gentle = start_and_stop(axis, 30.0, 0.1);
    const WindowCase hard{&axis, violent, 0.16, 0.0, 60.0, false};
    const WindowCase soft{&axis, gentle, 0.35, 0.0, 30.0, false};
    EXPECT_EQ(slip_likelihood({&hard, 1}, CurrentRegulator::dead_beat, {}, 12, 1), 1.0);
    EXPECT_EQ(slip_likelihood({&soft, 1}, CurrentRegulator::dead_beat, {}, 12, 1), 0.0);
}

}  // namespace
}  // namespace stepper_sim
