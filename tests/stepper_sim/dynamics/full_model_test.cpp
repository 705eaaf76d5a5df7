#include "stepper_sim/dynamics/full_model.hpp"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <cstring>
#include <numbers>

#include "test_axes.hpp"

namespace stepper_sim::dynamics {
namespace {

constexpr double kPi = std::numbers::pi;

struct Drive {
    std::vector<StepEdge> edges;
    double duration_s = 0.0;
    double top_rate_rad_s = 0.0;
};

Drive drive(const AxisDynamics& axis, const std::vector<RatePhase>& phases, double settle_s) {
    Drive out;
    out.edges = ideal_edges(phases, microstep_angle_rad(axis));
    for (const RatePhase& phase : phases) {
        out.duration_s += phase.duration_s;
        out.top_rate_rad_s = std::fmax(out.top_rate_rad_s, std::fabs(phase.end_rate_rad_s()));
        out.top_rate_rad_s = std::fmax(out.top_rate_rad_s, std::fabs(phase.start_rate_rad_s));
    }
    out.duration_s += settle_s;
    return out;
}

WindowRun window(const AxisDynamics& axis, const Drive& d, CurrentRegulator regulator) {
    return {&axis, d.edges, d.duration_s, 0.0, d.top_rate_rad_s, regulator, 1.0};
}

RC_GTEST_PROP(FullModel, BatchGivesTheSameBitsAsOneByOne, ()) {
    std::vector<AxisDynamics> axes;
    std::vector<Drive> drives;
    const int count = *rc::gen::inRange(1, 11);
    for (int i = 0; i < count; ++i) {
        AxisDynamics axis = *rc::gen::arbitrary<bool>() ? test::belt_axis() : test::rigid_axis();
        axis.load_inertia_kg_m2 *= 0.5 + 0.1 * *rc::gen::inRange(0, 20);
        axis.detent_torque_Nm = 0.001 * *rc::gen::inRange(0, 20);
        axes.push_back(axis);
        const double rate = 5.0 * *rc::gen::inRange(1, 50);
        drives.push_back(
            drive(axis, {{0.004, 0.0, rate / 0.004}, {0.001 * (i + 1), rate, 0.0}}, 0.002));
    }
    std::vector<WindowRun> runs;
    for (std::size_t i = 0; i < axes.size(); ++i)
        runs.push_back(window(axes[i], drives[i],
                              *rc::gen::arbitrary<bool>() ? CurrentRegulator::dead_beat
                                                          : CurrentRegulator::mixed_decay));
    std::vector<WindowOutcome> together(runs.size());
    simulate(runs, together);
    for (std::size_t i = 0; i < runs.size(); ++i) {
        const WindowOutcome alone = simulate(runs[i]);
        RC_ASSERT(alone.peak_load_angle_rad == together[i].peak_load_angle_rad);
        RC_ASSERT(alone.peak_time_s == together[i].peak_time_s);
        RC_ASSERT(alone.end_rate_rad_s == together[i].end_rate_rad_s);
        RC_ASSERT(alone.lost_synchronism == together[i].lost_synchronism);
        RC_ASSERT(alone.lost_cycles == together[i].lost_cycles);
    }
}

TEST(FullModel, StandsStillWithoutPulses) {
    const AxisDynamics axis = test::belt_axis();
    for (const auto regulator : {CurrentRegulator::dead_beat, CurrentRegulator::mixed_decay}) {
        const WindowRun run{&axis, {}, 0.05, 0.0, 0.0, regulator, 1.0};
        const WindowOutcome outcome = simulate(run);
        const double kChopperRipple_rad = 0.02;  // of the load angle; a tenth of a microstep at 16
        EXPECT_LT(outcome.peak_load_angle_rad, kChopperRipple_rad);
        EXPECT_FALSE(outcome.slipped());
    }
}

TEST(FullModel, SteadyLoadTiltsTheRotorByTheArcsine) {
    AxisDynamics axis = test::rigid_axis();
    axis.coulomb_Nm = 0.0;
    axis.gravity_Nm = 0.5 * peak_torque_Nm(axis);
    const std::vector<MotorState> states =
        trace({&axis, {}, 0.02, 0.0, 0.0, CurrentRegulator::dead_beat, 1.0}, 10e-6);
    const double kStationary_rad = 1e-9;
    for (const MotorState& state : states)
        ASSERT_NEAR(state.lag_rad, std::asin(0.5), kStationary_rad);
}

TEST(FullModel, LoadBeyondTheHoldingTorqueSlips) {
    AxisDynamics axis = test::rigid_axis();
    axis.gravity_Nm = 1.1 * peak_torque_Nm(axis);
    const WindowRun run{&axis, {}, 0.5, 0.0, 0.0, CurrentRegulator::dead_beat, 1.0};
    const WindowOutcome outcome = simulate(run);
    EXPECT_TRUE(outcome.lost_synchronism);
    EXPECT_GT(outcome.lost_time_s, 0.0);
    EXPECT_GT(outcome.lost_cycles, 0);
}

TEST(FullModel, FrictionHoldsTheLoadWhereItIsLarger) {
    AxisDynamics axis = test::belt_axis();
    axis.coulomb_Nm = 0.05;
    axis.gravity_Nm = 0.03;
    const std::vector<MotorState> states =
        trace({&axis, {}, 0.05, 0.0, 0.0, CurrentRegulator::dead_beat, 1.0}, 10e-6);
    for (const MotorState& state : states)
        ASSERT_EQ(state.load_rate_rad_s, 0.0);
}

TEST(FullModel, SmallSwingRateMeetsTheModes) {
    AxisDynamics axis = test::rigid_axis();
    axis.coulomb_Nm = 0.0;
    axis.rotor_viscous_Nms_rad = 0.0;
    axis.microsteps = 64;
    const std::vector<StepEdge> kick{{0.001, 1}};
    const std::vector<MotorState> states =
        trace({&axis, kick, 0.2, 0.0, 0.0, CurrentRegulator::dead_beat, 1.0}, 10e-6);
    // Zero crossings of the lag about zero: half periods.
    double first_s = 0.0;
    double last_s = 0.0;
    int crossings = 0;
    for (std::size_t i = 200; i < states.size(); ++i) {
        const double a = states[i - 1].lag_rad;
        const double b = states[i].lag_rad;
        if ((a < 0.0) == (b < 0.0)) continue;
        last_s = states[i - 1].time_s + 10e-6 * a / (a - b);
        if (crossings++ == 0) first_s = last_s;
    }
    const double period_s = 2.0 * (last_s - first_s) / (crossings - 1);
    const double kModel = 1e-3;  // the small-swing rate agrees within 0.1 %
    EXPECT_NEAR(2.0 * kPi / period_s / rigid_natural_rate_rad_s(axis), 1.0, kModel);
}

TEST(FullModel, FollowsAGentleMoveAndLosesAViolentOne) {
    const AxisDynamics axis = test::belt_axis();
    const std::vector<RatePhase> gentle{{0.1, 0.0, 300.0}, {0.1, 30.0, 0.0}, {0.1, 30.0, -300.0}};
    const std::vector<RatePhase> violent{{0.002, 0.0, 3e4}, {0.1, 60.0, 0.0}, {0.002, 60.0, -3e4}};
    for (const auto regulator : {CurrentRegulator::dead_beat, CurrentRegulator::mixed_decay}) {
        const Drive soft = drive(axis, gentle, 0.05);
        const WindowOutcome kept = simulate(window(axis, soft, regulator));
        EXPECT_FALSE(kept.slipped());
        EXPECT_LT(kept.peak_load_angle_rad, kPi / 2.0);
        const Drive hard = drive(axis, violent, 0.05);
        EXPECT_TRUE(simulate(window(axis, hard, regulator)).slipped());
    }
}

TEST(FullModel, TraceAndSimulationAreTheSameToTheLastBit) {
    // trace() runs the portable form, simulate() the one for wide registers where there are some.
    const AxisDynamics axis = test::belt_axis();
    const Drive moves =
        drive(axis, {{0.02, 0.0, 1500.0}, {0.05, 30.0, 0.0}, {0.02, 30.0, -1500.0}}, 0.05);
    for (const auto regulator : {CurrentRegulator::dead_beat, CurrentRegulator::mixed_decay}) {
        const WindowRun run = window(axis, moves, regulator);
        double peak_rad = 0.0;
        for (const MotorState& state : trace(run, integration_step_s(axis, run.top_rate_rad_s)))
            peak_rad = std::max(peak_rad, std::fabs(state.lag_rad));
        EXPECT_EQ(simulate(run).peak_load_angle_rad, peak_rad);
    }
}

TEST(FullModel, WhereOnlyALossIsAskedForTheSameRunsAreLostAtTheSameTime) {
    const AxisDynamics axis = test::belt_axis();
    std::vector<Drive> drives;
    for (int i = 0; i < 12; ++i) {
        const double accel = 300.0 * std::pow(1.6, i);
        drives.push_back(drive(
            axis, {{60.0 / accel, 0.0, accel}, {0.1, 60.0, 0.0}, {60.0 / accel, 60.0, -accel}},
            0.05));
    }
    for (const auto regulator : {CurrentRegulator::dead_beat, CurrentRegulator::mixed_decay}) {
        std::vector<WindowRun> whole, short_of_it;
        for (const Drive& one : drives) {
            whole.push_back(window(axis, one, regulator));
            short_of_it.push_back(whole.back());
            short_of_it.back().until_lost = true;
        }
        std::vector<WindowOutcome> all(whole.size()), some(whole.size());
        simulate(whole, all);
        simulate(short_of_it, some);
        int lost = 0;
        for (std::size_t i = 0; i < all.size(); ++i) {
            EXPECT_EQ(some[i].slipped(), all[i].slipped()) << i;
            EXPECT_EQ(some[i].lost_time_s, all[i].lost_time_s) << i;
            if (all[i].slipped()) ++lost;
        }
        EXPECT_GT(lost, 4);
        EXPECT_LT(lost, 12);
    }
}

TEST(FullModel, ADecayingCurrentStopsAtZero) {
    // Commanded from full to no current in one phase: the chopper's fast decay may not drive it the other way.
    AxisDynamics axis = test::rigid_axis();
    axis.microsteps = 1;
    const std::vector<StepEdge> quarter{{0.001, 1}};
    for (const MotorState& state :
         trace({&axis, quarter, 0.003, 0.0, 0.0, CurrentRegulator::mixed_decay, 1.0}, 10e-6))
        if (state.time_s > 0.001) {
            ASSERT_GT(state.current_a_A, -1e-3 * axis.current_A);
        }
}

TEST(FullModel, TransmissionTooStiffForTheStepIsTakenAsRigidAndSaysSo) {
    AxisDynamics axis = test::belt_axis();
    axis.stiffness_Nm_rad = 1e6;
    const WindowRun run{&axis, {}, 0.01, 0.0, 0.0, CurrentRegulator::dead_beat, 1.0};
    EXPECT_TRUE(simulate(run).transmission_rigid);
    const AxisDynamics soft = test::belt_axis();
    const WindowRun elastic{&soft, {}, 0.01, 0.0, 0.0, CurrentRegulator::dead_beat, 1.0};
    EXPECT_FALSE(simulate(elastic).transmission_rigid);
}

TEST(FullModel, StepHalvesAboveTwiceTheCornerSpeed) {
    const AxisDynamics axis = test::belt_axis();
    const double corner = base_rate_rad_s(axis);
    EXPECT_EQ(integration_step_s(axis, 1.9 * corner), 10e-6);
    EXPECT_EQ(integration_step_s(axis, 2.1 * corner), 5e-6);
}

TEST(FullModel, StartsSteadyAtSpeed) {
    const AxisDynamics axis = test::belt_axis();
    const double rate = 0.4 * base_rate_rad_s(axis);
    const Drive cruise = drive(axis, {{0.3, rate, 0.0}}, 0.0);
    WindowRun run = window(axis, cruise, CurrentRegulator::dead_beat);
    run.start_rate_rad_s = rate;
    const WindowOutcome outcome = simulate(run);
    EXPECT_FALSE(outcome.slipped());
    EXPECT_LT(outcome.peak_load_angle_rad,
              0.5);  // friction alone asks for 0.09; microstep ripple and start add to it
}

TEST(FullModel, SameWindowMirroredGivesTheSameLoadAngle) {
    const AxisDynamics axis = test::belt_axis();
    const Drive there = drive(axis, {{0.05, 0.0, 800.0}, {0.05, 40.0, -800.0}}, 0.02);
    const Drive back = drive(axis, {{0.05, 0.0, -800.0}, {0.05, -40.0, 800.0}}, 0.02);
    const WindowOutcome a = simulate(window(axis, there, CurrentRegulator::dead_beat));
    const WindowOutcome b = simulate(window(axis, back, CurrentRegulator::dead_beat));
    const double kMirror = 1e-9;  // phases start aligned with +a: rounding only
    EXPECT_NEAR(a.peak_load_angle_rad / b.peak_load_angle_rad, 1.0, kMirror);
}

}  // namespace
}  // namespace stepper_sim::dynamics
