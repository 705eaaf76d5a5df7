#include "stepper_sim/dynamics/modal_screen.hpp"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "test_axes.hpp"

namespace stepper_sim::dynamics {
namespace {

constexpr double kRounding = 1e-9;  // relative
constexpr double kTopRate_rad_s = 1000.0;

TorqueTable constant_torque(double torque_Nm) {
    return TorqueTable([torque_Nm](double) { return torque_Nm; }, kTopRate_rad_s);
}

std::vector<RatePhase> random_phases(int count) {
    std::vector<RatePhase> phases;
    double rate = 0.0;
    for (int i = 0; i < count; ++i) {
        rate += 0.1 * *rc::gen::inRange(-50, 51);
        const RatePhase phase{0.0005 * *rc::gen::inRange(1, 40), rate,
                              10.0 * *rc::gen::inRange(-200, 201)};
        phases.push_back(phase);
        rate = phase.end_rate_rad_s();
    }
    return phases;
}

RC_GTEST_PROP(ModalScreen, AFloorChangesNoRatioAboveItAndRaisesNone, ()) {
    const TorqueTable torque([](double rate_rad_s) { return 0.3 / (1.0 + rate_rad_s / 100.0); },
                             kTopRate_rad_s);
    ModalScreen exact(test::belt_axis(), torque);
    ModalScreen floored(test::belt_axis(), torque, Ringing::left_out);
    const double floor = 0.1 * *rc::gen::inRange(0, 20);
    floored.ratio_floor(floor);
    for (const RatePhase& phase : random_phases(*rc::gen::inRange(1, 20))) {
        exact.phase(phase);
        floored.phase(phase);
        const MoveScreen whole = exact.end_move();
        const MoveScreen quick = floored.end_move();
        RC_ASSERT(quick.ratio <= whole.ratio);
        if (whole.ratio > floor) {
            RC_ASSERT(quick.ratio == whole.ratio);
            RC_ASSERT(quick.peak_time_s == whole.peak_time_s);
        }
        RC_ASSERT(quick.end_rate_rad_s == whole.end_rate_rad_s);
    }
}

// A motor that stands while others move costs nothing once its swing is gone, and forgets nothing.
TEST(ModalScreen, ALongRestEndsWhereTheFrictionLeavesIt) {
    const AxisDynamics axis = test::belt_axis();
    ModalScreen screen(axis, constant_torque(0.3));
    screen.phase({0.02, 0.0, 200.0});
    screen.end_move();
    for (int i = 0; i < 100; ++i)
        screen.rest(0.1);
    const MoveScreen rest = screen.end_move();
    EXPECT_NEAR(rest.duration_s, 10.0, kRounding);
    const double standing_rad = screen.rotor_lag_rad();
    screen.rest(0.1);
    const MoveScreen still = screen.end_move();
    EXPECT_EQ(screen.rotor_lag_rad(), standing_rad);
    EXPECT_NEAR(still.ratio, magnetic_stiffness_Nm_rad(axis) * std::fabs(standing_rad) / 0.3,
                kRounding);
    EXPECT_EQ(still.ringing_m, 0.0);
    screen.phase({0.02, 5.0, 0.0});
    EXPECT_GT(screen.end_move().ratio, still.ratio);
}

RC_GTEST_PROP(ModalScreen, FindsThePeakInsideAPhase, ()) {
    const AxisDynamics axis = test::belt_axis();
    const TorqueTable torque([](double rate_rad_s) { return 0.3 / (1.0 + rate_rad_s / 100.0); },
                             kTopRate_rad_s);
    const std::vector<RatePhase> phases = random_phases(*rc::gen::inRange(1, 8));
    ModalScreen screen(axis, torque);
    for (const RatePhase& phase : phases)
        screen.phase(phase);
    const double found = screen.end_move().ratio;

    // The same, chopped into slices far shorter than the fastest period, looking at the ends only.
    ModalScreen sliced(axis, torque);
    const int kSlices = 250;
    double sampled = 0.0;
    for (const RatePhase& phase : phases)
        for (int i = 0; i < kSlices; ++i) {
            const double slice_s = phase.duration_s / kSlices;
            const RatePhase slice{slice_s,
                                  phase.start_rate_rad_s + phase.acceleration_rad_s2 * slice_s * i,
                                  phase.acceleration_rad_s2};
            sliced.phase(slice);
            const double torque_Nm = torque.at(slice.end_rate_rad_s());
            sampled = std::max(sampled, magnetic_stiffness_Nm_rad(axis) *
                                            std::fabs(sliced.rotor_lag_rad()) / torque_Nm);
        }
    // Between samples: (w h / 2)^2 / 2 with w h = 0.14 at most. Below: the peak beside the lag's
    // own is found to first order in the change of torque, which has a kink at standstill.
    const double kSampling = 0.003;
    const double kFallingTorque = 1e-3;
    RC_ASSERT(found >= sampled * (1.0 - kFallingTorque));
    RC_ASSERT(found <= sampled * (1.0 + kSampling) + 1e-6);
}

// The torque falls so fast that the ratio turns visibly after the lag does.
TEST(ModalScreen, FindsWhereTheRatioTurnsBesideTheLag) {
    const AxisDynamics axis = test::rigid_axis();
    const auto torque_Nm = [](double rate_rad_s) { return 0.3 * (1.0 - rate_rad_s / 60.0); };
    const RatePhase phase{0.006, 0.0, 4000.0};
    ModalScreen screen(axis, TorqueTable(torque_Nm, 60.0));
    screen.phase(phase);
    const MoveScreen found = screen.end_move();

    const int kSlices = 20000;
    const double slice_s = phase.duration_s / kSlices;
    ModalScreen sliced(axis, TorqueTable(torque_Nm, 60.0));
    double sampled = 0.0;
    for (int i = 0; i < kSlices; ++i) {
        const RatePhase slice{slice_s, phase.acceleration_rad_s2 * slice_s * i,
                              phase.acceleration_rad_s2};
        sliced.phase(slice);
        sampled =
            std::max(sampled, magnetic_stiffness_Nm_rad(axis) * std::fabs(sliced.rotor_lag_rad()) /
                                  torque_Nm(slice.end_rate_rad_s()));
    }
    EXPECT_LT(found.peak_time_s, 0.9 * phase.duration_s);
    // The ratio is 1.4 % above that at the turn of the lag; the rise of the torque is taken as even, which costs the square of that.
    const double kSecondOrder = 2e-4;
    EXPECT_NEAR(found.ratio / sampled, 1.0, kSecondOrder);
}

/// One mode after a phase, as the header writes it, with the library's functions.
struct PlainMode {
    VibrationMode mode;
    double q = 0.0, q_rate = 0.0;

    void advance(const AxisDynamics& axis, const RatePhase& phase, double jump_rad_s) {
        const double w = mode.rate_rad_s, z = mode.damping;
        const double viscous = mode.rotor_shape * axis.rotor_viscous_Nms_rad +
                               mode.load_shape * axis.load_viscous_Nms_rad;
        q_rate += mode.participation * jump_rad_s;
        const double f0 = mode.participation * phase.acceleration_rad_s2 +
                          viscous * phase.start_rate_rad_s + mode.load_shape * axis.coulomb_Nm;
        const double f1 = viscous * phase.acceleration_rad_s2;
        const double t = phase.duration_s, wd = w * std::sqrt(1.0 - z * z);
        const double rest = f0 / (w * w) - 2.0 * z * f1 / (w * w * w), slope = f1 / (w * w);
        const double u = q - rest, v = (q_rate - slope + z * w * u) / wd;
        const double kept = std::exp(-z * w * t), c = std::cos(wd * t), s = std::sin(wd * t);
        q = kept * (u * c + v * s) + rest + slope * t;
        q_rate = kept * ((wd * v - z * w * u) * c - (wd * u + z * w * v) * s) + slope;
    }
};

RC_GTEST_PROP(ModalScreen, AgreesWithThePlainFormula, ()) {
    AxisDynamics axis = *rc::gen::arbitrary<bool>() ? test::belt_axis() : test::rigid_axis();
    axis.rotor_viscous_Nms_rad *= 0.1 * *rc::gen::inRange(0, 300);
    axis.load_viscous_Nms_rad = 1e-4 * *rc::gen::inRange(0, 100);
    axis.coupling_damping_Nms_rad *= 0.1 * *rc::gen::inRange(0, 100);
    axis.load_inertia_kg_m2 *= 0.1 * *rc::gen::inRange(1, 100);
    const VibrationModes modes = vibration_modes(axis);
    std::vector<PlainMode> plain;
    for (const VibrationMode& mode : modes.used())
        plain.push_back({mode});
    ModalScreen screen(axis, constant_torque(0.3));
    double rate = 0.0;
    for (int i = *rc::gen::inRange(1, 20); i > 0; --i) {  // always forwards
        RatePhase phase{1e-4 * *rc::gen::inRange(1, 20000), 0.1 * *rc::gen::inRange(1, 500), 0.0};
        phase.acceleration_rad_s2 =
            (0.1 * *rc::gen::inRange(1, 500) - phase.start_rate_rad_s) / phase.duration_s;
        screen.phase(phase);
        double rotor_rad = 0.0, load_rad = 0.0;
        for (PlainMode& p : plain) {
            p.advance(axis, phase, phase.start_rate_rad_s - rate);
            rotor_rad += p.mode.rotor_shape * p.q;
            load_rad += p.mode.load_shape * p.q;
        }
        rate = phase.end_rate_rad_s();
        const double kAngle_rad = 1e-12;  // rounding of angles w t of some 1000 rad, lags to 1 rad
        RC_ASSERT(std::fabs(screen.rotor_lag_rad() - rotor_rad) < kAngle_rad);
        RC_ASSERT(std::fabs(screen.load_lag_rad() - load_rad) < kAngle_rad);
    }
}

RC_GTEST_PROP(ModalScreen, SplittingAPhaseChangesNothing, ()) {
    const AxisDynamics axis = test::belt_axis();
    ModalScreen whole(axis, constant_torque(0.3));
    ModalScreen split(axis, constant_torque(0.3));
    for (const RatePhase& phase : random_phases(*rc::gen::inRange(1, 8))) {
        whole.phase(phase);
        const RatePhase first{0.37 * phase.duration_s, phase.start_rate_rad_s,
                              phase.acceleration_rad_s2};
        split.phase(first);
        split.phase({0.63 * phase.duration_s, first.end_rate_rad_s(), phase.acceleration_rad_s2});
    }
    const double kAngle_rad = 1e-12;  // rounding of lags of order 0.01 rad, many times over
    RC_ASSERT(std::fabs(whole.rotor_lag_rad() - split.rotor_lag_rad()) < kAngle_rad);
    RC_ASSERT(std::fabs(whole.load_lag_rad() - split.load_lag_rad()) < kAngle_rad);
    const double kPeakSearch = 1e-6;  // of Newton's three steps from another start
    RC_ASSERT(std::fabs(whole.end_move().ratio - split.end_move().ratio) < kPeakSearch);
}

TEST(ModalScreen, SteadyCruiseAsksForFrictionTorqueOnly) {
    const AxisDynamics axis = test::belt_axis();
    ModalScreen screen(axis, constant_torque(0.25));
    const double rate = 40.0;
    screen.phase({0.1, 0.0, rate / 0.1});
    screen.end_move();
    screen.phase({20.0, rate, 0.0});  // the start of the cruise has died away
    screen.end_move();
    screen.phase({0.5, rate, 0.0});
    const double friction_Nm = axis.coulomb_Nm + axis.rotor_viscous_Nms_rad * rate;
    EXPECT_NEAR(screen.end_move().ratio, friction_Nm / 0.25, kRounding);
}

TEST(ModalScreen, LongAccelerationAsksForTheInertiaTorque) {
    AxisDynamics axis = test::rigid_axis();
    axis.rotor_viscous_Nms_rad = 0.01;  // heavily damped: settles within the phase
    axis.coulomb_Nm = 0.0;
    ModalScreen screen(axis, constant_torque(0.25));
    screen.phase({1.0, 0.0, 1000.0});
    const double kSettled = 1e-6;
    // Lag of the moving rest point: (J a + B w)/km - B a 2 zeta... exact value from the linear
    // equation's own particular solution.
    const double km = magnetic_stiffness_Nm_rad(axis);
    const double viscous = axis.rotor_viscous_Nms_rad;
    const double lag =
        (total_inertia_kg_m2(axis) * 1000.0 + viscous * 1000.0 - viscous * viscous * 1000.0 / km) /
        km;
    EXPECT_NEAR(screen.rotor_lag_rad() / lag, 1.0, kSettled);
}

TEST(ModalScreen, SpeedStepRingsTheCarriageBySpeedOverNaturalRate) {
    AxisDynamics axis = test::belt_axis();
    axis.current_A = 1e5;  // holds the rotor on its command
    axis.coulomb_Nm = 0.0;
    axis.rotor_viscous_Nms_rad = 0.0;
    axis.coupling_damping_Nms_rad = 0.0;
    ModalScreen screen(axis, constant_torque(peak_torque_Nm(axis)));
    const double jump_m_s = 0.02;
    screen.phase({0.0, jump_m_s / axis.metres_per_rad, 0.0});
    const double kHeldRotorError = 1e-2;  // the rotor's own swing: order sqrt(Jr kb / (Jl km))
    EXPECT_NEAR(screen.end_move().corner_ringing_m * load_natural_rate_rad_s(axis) / jump_m_s, 1.0,
                kHeldRotorError);
}

TEST(ModalScreen, MeasuredModeRingsBesideTheMotorWithoutLoadingIt) {
    AxisDynamics axis = test::rigid_axis();
    ModalScreen plain(axis, constant_torque(0.3));
    axis.carriage_modes.push_back({48.0, 0.04});
    ModalScreen shaken(axis, constant_torque(0.3));
    const double jump_m_s = 0.01;
    const RatePhase corner{0.0, jump_m_s / axis.metres_per_rad, 0.0};
    plain.phase(corner);
    shaken.phase(corner);
    const MoveScreen without = plain.end_move();
    const MoveScreen with = shaken.end_move();
    EXPECT_EQ(with.ratio, without.ratio);
    const double damped_rad_s = 2.0 * std::numbers::pi * 48.0 * std::sqrt(1.0 - 0.04 * 0.04);
    EXPECT_NEAR((with.corner_ringing_m - without.corner_ringing_m) / (jump_m_s / damped_rad_s), 1.0,
                kRounding);
}

TEST(ModalScreen, ReversalsAtTheNaturalRateBuildUp) {
    AxisDynamics axis = test::belt_axis();
    axis.coulomb_Nm = 0.0;
    const double half_period_s = std::numbers::pi / vibration_modes(axis).mode[0].rate_rad_s;
    ModalScreen screen(axis, constant_torque(0.3));
    double first = 0.0;
    double ratio = 0.0;
    for (int i = 0; i < 9; ++i) {
        const double direction = i % 2 == 0 ? 1.0 : -1.0;
        screen.phase({half_period_s, -5.0 * direction, 10.0 * direction / half_period_s});
        ratio = screen.end_move().ratio;
        if (i == 0) first = ratio;
    }
    EXPECT_GT(ratio, 3.0 * first);
}

TEST(ModalScreen, ReportsWhereThePeakIs) {
    const AxisDynamics axis = test::belt_axis();
    ModalScreen screen(axis, constant_torque(0.3));
    screen.phase({0.5, 0.0, 20.0});
    screen.phase({0.2, 10.0, 0.0});
    screen.phase({0.0025, 10.0, -4000.0});  // stops hard
    screen.rest(0.2);
    const MoveScreen move = screen.end_move();
    EXPECT_GT(move.peak_time_s, 0.7);
    EXPECT_LT(move.peak_time_s, 0.7025 + 0.02);
    EXPECT_EQ(move.top_rate_rad_s, 10.0);
    EXPECT_EQ(move.fast_stretch_s, 0.0);
}

TEST(ModalScreen, TimeAboveTheCornerSpeedIsCountedAcrossMoves) {
    const AxisDynamics axis = test::belt_axis();
    const double fast = 1.5 * base_rate_rad_s(axis);
    ModalScreen screen(axis, constant_torque(0.3));
    screen.phase({0.5, 0.0, fast / 0.5});
    EXPECT_NEAR(screen.end_move().fast_stretch_s, 0.5 / 3.0, kRounding);
    screen.phase({0.3, fast, 0.0});
    EXPECT_NEAR(screen.end_move().fast_stretch_s, 0.5 / 3.0 + 0.3, kRounding);
    screen.phase({0.5, fast, -fast / 0.5});
    EXPECT_NEAR(screen.end_move().fast_stretch_s, 1.0 / 3.0 + 0.3, kRounding);
    screen.phase({0.5, 0.0, -fast / 0.5});
    EXPECT_NEAR(screen.end_move().fast_stretch_s, 0.5 / 3.0, kRounding);
}

TEST(ModalScreen, SpeedBeyondTheTorqueCurveIsNeverAPass) {
    ModalScreen screen(test::belt_axis(), constant_torque(0.3));
    screen.phase({0.5, 0.0, 2.0 * kTopRate_rad_s / 0.5});
    EXPECT_GT(screen.end_move().ratio, 1.0);
}

TEST(ModalScreen, StopThatRoundingCarriedBelowZeroKeepsTheFriction) {
    const AxisDynamics axis = test::belt_axis();
    ModalScreen screen(axis, constant_torque(0.3));
    screen.phase({0.1, 0.0, 100.0});
    screen.phase({0.1, 10.0, -100.0 * (1.0 + 1e-15)});
    screen.rest(30.0);
    // Dry friction still holds the load back by Tc / km and Tc / kb.
    EXPECT_NEAR(screen.rotor_lag_rad() * magnetic_stiffness_Nm_rad(axis) / axis.coulomb_Nm, 1.0,
                kRounding);
}

}  // namespace
}  // namespace stepper_sim::dynamics
