#include "stepper_sim/motor/available_torque.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "stepper_sim/motor/pull_out_curve.hpp"
#include "stepper_sim/motor/running_factor.hpp"
#include "tests/stepper_sim/motor/motor_samples.hpp"

namespace stepper_sim::motor {
namespace {

using samples::rate;
using samples::rms;
using samples::volts;

constexpr double kRounding = 1e-9;
// The rounded knee still costs (I R/V)^4/4 of the torque at rest: (1/5.66)^4/4 of 0.4 N m here.
constexpr double kKnee = 2e-4;

double in(double low, double high) {
    return low + (high - low) * (*rc::gen::inRange(0, 1000001)) * 1e-6;
}

TEST(AvailableTorque, PlateAtRestIsRunningFactorTimesHoldingTorque) {
    const AvailableTorque t = available_torque(samples::motor(), rms(2.0), volts(24.0));
    const TorqueBand band = t.at(rate(0.0));
    EXPECT_NEAR(band.low.value(), 0.4 * kRunningFactorLow, kKnee);
    EXPECT_NEAR(band.nominal.value(), 0.4 * kRunningFactor, kKnee);
    EXPECT_NEAR(band.high.value(), 0.4 * (1.0 + kHoldingTolerance),
                kKnee);  // no more than it holds
    EXPECT_EQ(t.basis(), TorqueBasis::nameplate);
    EXPECT_FALSE(t.curve_end());
    EXPECT_FALSE(band.beyond_curve);
    const TorqueBand far = t.at(t.base_speed() * 2.0);
    EXPECT_NEAR(far.high / far.low, kRunningFactorHigh / kRunningFactorLow, kRounding);
}

TEST(AvailableTorque, BandIsNoWiderThanAFactorOfTwo) {
    EXPECT_LE(kRunningFactorHigh / kRunningFactorLow, 2.0);
    EXPECT_LE(kMeasuredHigh / kMeasuredLow, 2.0);
    EXPECT_LE((1.0 + kTransferMost) / (1.0 - kTransferMost), 2.0 + kRounding);
}

TEST(AvailableTorque, GivenRunningFactorReplacesTheDefaultAndNarrowsTheBand) {
    const TorqueBand band =
        available_torque(samples::motor(), rms(2.0), volts(24.0), 0.7).at(rate(0.0));
    EXPECT_NEAR(band.nominal.value(), 0.28, kKnee);
    EXPECT_NEAR(band.low.value(), 0.28 * kMeasuredLow, kKnee);
    EXPECT_NEAR(band.high.value(), 0.28 * kMeasuredHigh, kKnee);
}

TEST(AvailableTorque, APointMeasuredAtASpeedNarrowsTheBandThereOnly) {
    const AvailableTorque t =
        available_torque(samples::motor(), rms(2.0), volts(24.0), 0.7, rate(40.0));
    const auto width = [&](double rate_rad_s) {
        const TorqueBand band = t.at(rate(rate_rad_s));
        EXPECT_LE(t.low_Nm(rate_rad_s), band.low.value());
        EXPECT_GE(t.high_Nm(rate_rad_s), band.high.value());
        return band.nominal / band.low;
    };
    EXPECT_NEAR(width(40.0), 1.0 / kMeasuredNearLow, kRounding);
    EXPECT_NEAR(width(40.0 * 1.34), 1.0 / kMeasuredNearLow, kRounding);
    EXPECT_NEAR(width(40.0 * 1.61), 1.0 / kMeasuredLow, kRounding);
    EXPECT_NEAR(width(40.0 / 1.61), 1.0 / kMeasuredLow, kRounding);
    EXPECT_GT(width(40.0 * 1.45), width(40.0 * 1.4));
}

TEST(AvailableTorque, ATransferToAnotherSupplyWidensWithTheirRatio) {
    machine::MotorPart motor = samples::motor();
    machine::PullOutCurve curve;
    curve.supply = volts(24.0);
    curve.current = rms(2.0);
    curve.speeds = {rate(10.0), rate(40.0), rate(60.0)};
    curve.torques = {planner::from_si<planner::Torque>(0.3),
                     planner::from_si<planner::Torque>(0.28),
                     planner::from_si<planner::Torque>(0.25)};
    motor.curves = {curve};
    const auto width = [&](double supply_V) {
        const TorqueBand band = available_torque(motor, rms(2.0), volts(supply_V)).at(rate(10.0));
        return band.high / band.nominal - 1.0;
    };
    EXPECT_NEAR(width(24.0), kPublishedSpread, kRounding);
    EXPECT_NEAR(width(32.0), kTransferSpread, kRounding);
    EXPECT_NEAR(width(18.0), kTransferSpread, kRounding);
    EXPECT_GT(width(40.0), kTransferSpread + 0.01);
    EXPECT_NEAR(width(96.0), kTransferMost, kRounding);
}

TEST(AvailableTorque, PeakSetToTheRmsNumberLosesTheRootOfTwo) {
    const double as_rms = available_torque(samples::motor(), rms(2.0), volts(24.0)).nominal_Nm(0.0);
    const double as_peak =
        available_torque(samples::motor(), samples::peak(2.0), volts(24.0)).nominal_Nm(0.0);
    EXPECT_NEAR(as_rms / as_peak, std::sqrt(2.0), 2.0 * kKnee);
}

TEST(AvailableTorque, DoublingCurrentDoublesLowSpeedTorqueAndLeavesTheFarLimit) {
    const AvailableTorque one = available_torque(samples::motor(), rms(1.0), volts(24.0));
    const AvailableTorque two = available_torque(samples::motor(), rms(2.0), volts(24.0));
    // Off the knee by a factor x both ways the torque is within 1/(4 x^4) of either limit.
    const auto low_speed = two.base_speed() * 0.1;
    constexpr double kLowKnee = 0.0011;  // V/(R I) = 5.66 at rest bounds x here
    EXPECT_NEAR(two.at(low_speed).nominal / one.at(low_speed).nominal, 2.0, 2.0 * kLowKnee);
    const auto far = one.base_speed() * 4.0;
    constexpr double kFarKnee = 0.002;  // x is about 4 for the smaller current
    EXPECT_NEAR(two.at(far).nominal / one.at(far).nominal, 1.0, kFarKnee);
    EXPECT_LT(two.base_speed(), one.base_speed());
}

TEST(AvailableTorque, PublishedCurveIsMetAtItsPointsAndConditions) {
    const machine::MotorPart motor = samples::motor_with_curve();
    const AvailableTorque t = available_torque(motor, rms(2.0), volts(24.0));
    EXPECT_EQ(t.basis(), TorqueBasis::published_curve);
    for (std::size_t i = 0; i < motor.curves[0].speeds.size(); ++i) {
        const TorqueBand band = t.at(motor.curves[0].speeds[i]);
        const double published = motor.curves[0].torques[i].value();
        EXPECT_NEAR(band.nominal.value(), published, kRounding);
        EXPECT_NEAR(band.low.value(), published * (1.0 - kPublishedSpread), kRounding);
        EXPECT_FALSE(band.beyond_curve);
    }
    EXPECT_NEAR(t.curve_end()->value(), 90.0, kRounding);
    EXPECT_NE(t.description().find("made-up curve"), std::string::npos);
}

TEST(AvailableTorque, NothingIsPromisedPastThePublishedPoints) {
    const AvailableTorque t = available_torque(samples::motor_with_curve(), rms(2.0), volts(24.0));
    const TorqueBand band = t.at(rate(90.5));
    EXPECT_TRUE(band.beyond_curve);
    EXPECT_EQ(band.low.value(), 0.0);
    EXPECT_GT(band.high.value(), 0.0);
    EXPECT_EQ(t.low_Nm(95.0), 0.0);
}

TEST(AvailableTorque, AGivenRunningFactorPromisesNothingPastThePublishedPointsEither) {
    for (const double supply : {24.0, 36.0}) {
        const AvailableTorque curve =
            available_torque(samples::motor_with_curve(), rms(2.0), volts(supply));
        const AvailableTorque plate =
            available_torque(samples::motor(), rms(2.0), volts(supply), 0.9);
        const AvailableTorque both =
            available_torque(samples::motor_with_curve(), rms(2.0), volts(supply), 0.9);
        ASSERT_TRUE(both.curve_end());
        EXPECT_NEAR(both.curve_end()->value(), curve.curve_end()->value(), kRounding);
        const auto before = *both.curve_end() * 0.999, past = *both.curve_end() * 1.001;
        EXPECT_FALSE(both.at(before).beyond_curve);
        EXPECT_NEAR(both.at(before).low.value(), plate.at(before).low.value(), kRounding);
        EXPECT_TRUE(both.at(past).beyond_curve);
        EXPECT_EQ(both.at(past).low.value(), 0.0);
        EXPECT_EQ(both.low_Nm(past.value() * 1.05), 0.0);
        EXPECT_NEAR(both.at(past).nominal.value(), plate.at(past).nominal.value(), kRounding);
        EXPECT_NEAR(both.at(past).high.value(), plate.at(past).high.value(), kRounding);
        EXPECT_NE(both.description().find("made-up curve"), std::string::npos)
            << both.description();
    }
}

TEST(AvailableTorque, TransferredCurveScalesSpeedWithTheCornerAndWidensItsBand) {
    const AvailableTorque own =
        available_torque(samples::motor_with_curve(), rms(2.0), volts(24.0));
    const AvailableTorque other =
        available_torque(samples::motor_with_curve(), rms(2.0), volts(36.0));
    EXPECT_EQ(other.basis(), TorqueBasis::transferred_curve);
    EXPECT_NEAR(*other.curve_end() / *own.curve_end(), other.base_speed() / own.base_speed(),
                kRounding);
    const TorqueBand band = other.at(other.base_speed() * 0.5);
    EXPECT_NEAR(band.low / band.nominal, 1.0 - transfer_spread(24.0 / 36.0), kRounding);
    EXPECT_GT(other.at(rate(60.0)).nominal, own.at(rate(60.0)).nominal);
    EXPECT_NE(other.description().find("36 V"), std::string::npos) << other.description();
}

TEST(AvailableTorque, IncompletePlateWidensTheBandAboveTheCorner) {
    machine::MotorPart bare = samples::motor();
    bare.inductance.reset();
    const AvailableTorque t = available_torque(bare, rms(2.0), volts(24.0));
    EXPECT_EQ(t.basis(), TorqueBasis::estimated_nameplate);
    const TorqueBand band = t.at(t.base_speed() * 3.0);
    EXPECT_GT(band.high / band.low, kRunningFactorHigh / kRunningFactorLow);
}

RC_GTEST_PROP(AvailableTorque, TablesStayOnTheirSideOfTheExactCurve, ()) {
    machine::MotorPart motor =
        *rc::gen::arbitrary<bool>() ? samples::motor_with_curve() : samples::motor();
    motor.inductance =
        planner::from_si<planner::Inductance>(std::exp(in(std::log(0.5e-3), std::log(10e-3))));
    motor.resistance =
        planner::from_si<planner::Resistance>(std::exp(in(std::log(0.3), std::log(20.0))));
    const AvailableTorque t = available_torque(motor, rms(in(0.3, 4.0)), volts(in(9.0, 60.0)));
    const double full = t.at(rate(0.0)).nominal.value();
    const double plate_end = t.supply().value() / (kEmfLoss * t.constants().torque_constant_Nm_A);
    const double cell =
        std::max(plate_end, 1.1 * t.curve_end().value_or(rate(0.0)).value()) / 512.0;
    for (int i = 0; i < 100; ++i) {
        const double w = (i + in(0.0, 1.0)) * (t.base_speed().value() + 1.0) / 8.0;
        const TorqueBand exact = t.at(rate(w));
        RC_ASSERT(t.low_Nm(w) <= exact.low.value() + 1e-12);
        RC_ASSERT(t.high_Nm(-w) >= exact.high.value() - 1e-12);
        RC_ASSERT(t.least_low_Nm(-w) <= t.low_Nm(w * in(0.0, 1.0)));
        // The table costs at most what the curve falls over one cell to either side, and 0.5 % of
        // the torque at rest.
        const TorqueBand before = t.at(rate(w - cell));
        const TorqueBand after = t.at(rate(w + cell));
        const double fall = std::max(std::fabs(before.low.value() - after.low.value()),
                                     std::fabs(before.nominal.value() - after.nominal.value()));
        RC_ASSERT(exact.low.value() - t.low_Nm(w) <= 0.005 * full + fall);
        RC_ASSERT(std::fabs(t.nominal_Nm(w) - exact.nominal.value()) <= 0.005 * full + fall);
    }
}

RC_GTEST_PROP(AvailableTorque, NeverFallsWithSupply, ()) {
    const double I = in(0.5, 3.0);
    const double V = in(10.0, 50.0);
    const double w = in(0.0, 300.0);
    const machine::MotorPart motor = samples::motor();
    const TorqueBand less = available_torque(motor, rms(I), volts(V)).at(rate(w));
    const TorqueBand more = available_torque(motor, rms(I), volts(V * 1.1)).at(rate(w));
    RC_ASSERT(more.low.value() >= less.low.value() - kRounding);
    RC_ASSERT(more.high.value() >= less.high.value() - kRounding);
}

TEST(AvailableTorque, AbsurdSpeedsGiveNoTorqueAndNoCrash) {
    const AvailableTorque t = available_torque(samples::motor_with_curve(), rms(2.0), volts(24.0));
    for (const double w : {1e300, std::numeric_limits<double>::infinity(),
                           std::numeric_limits<double>::quiet_NaN()}) {
        EXPECT_EQ(t.low_Nm(w), 0.0);
    }
}

TEST(PullOutInterpolant, MakesNoHillBetweenPoints) {
    const PullOutInterpolant f(samples::motor_with_curve().curves[0]);
    for (double w = 20.0; w < 90.0; w += 0.25)
        EXPECT_GE(f.torque_Nm(w), f.torque_Nm(w + 0.25) - kRounding);
    for (double w = 10.0; w < 20.0; w += 0.25)
        EXPECT_LE(f.torque_Nm(w), 0.34 + kRounding);
}

TEST(PullOutInterpolant, TwoPointsAreJoinedByALine) {
    machine::PullOutCurve curve;
    curve.speeds = {rate(10.0), rate(30.0)};
    curve.torques = {planner::from_si<planner::Torque>(0.4),
                     planner::from_si<planner::Torque>(0.2)};
    EXPECT_NEAR(PullOutInterpolant(curve).torque_Nm(20.0), 0.3, kRounding);
}

TEST(RunningFactor, CurveThroughAMeasuredPointMeetsIt) {
    const machine::MotorPart motor = samples::motor();
    const MotorConstants constants = motor_constants(motor);
    const double rounded_Nm = rounded_torque_Nm(constants, rms(2.0).peak().value(), 24.0, 50.0);
    const double emf_share = constants.torque_constant_Nm_A * 50.0 / 24.0;
    const double factor = 0.21 / (rounded_Nm * RunningFactor{1.0, kEmfLoss}.at(emf_share));
    const TorqueBand band = available_torque(motor, rms(2.0), volts(24.0), factor).at(rate(50.0));
    EXPECT_NEAR(band.nominal.value(), 0.21, kRounding);
}

}  // namespace
}  // namespace stepper_sim::motor
