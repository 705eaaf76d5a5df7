/// The full model against GSL's rk8pd at 1e-12: the same motor, written down again (motor_reference.hpp).
#include <gtest/gtest.h>

#include <cmath>

#include "gsl_motor.hpp"
#include "stepper_sim/motor/speed_step.hpp"

namespace stepper_sim {
namespace {

constexpr double kShippedStep_s = 10e-6;
// What the second-order integrator may differ by at the shipped step, away from pull-out: 0.3 millionths of a turn.
constexpr double kAway_rad = 1e-6;
// Above the base speed the currents no longer follow: the voltage limit makes kinks inside the step.
constexpr double kAboveCorner_rad = 5e-6;

std::vector<dynamics::RatePhase> up_and_down(double rate, double accel) {
    return {{rate / accel, 0.0, accel}, {0.03, rate, 0.0}, {rate / accel, rate, -accel}};
}

double difference(const dynamics::AxisDynamics& axis, double rate, double accel, double step_s) {
    const auto edges =
        dynamics::ideal_edges(up_and_down(rate, accel), dynamics::microstep_angle_rad(axis));
    const double duration_s = 2.0 * rate / accel + 0.04;
    const auto model = dynamics::trace(
        {&axis, edges, duration_s, 0.0, rate, dynamics::CurrentRegulator::dead_beat, 1.0}, step_s);
    return reference::run(axis, edges, model, step_s, reference::GslAdvance())
        .largest_difference_rad;
}

TEST(OutsideMotion, AgreesWithRungeKutta8) {
    const dynamics::AxisDynamics axis = reference::smooth_axis();
    for (const double corners : {0.2, 0.5, 0.8})
        EXPECT_LT(
            difference(axis, corners * dynamics::base_rate_rad_s(axis), 1500.0, kShippedStep_s),
            kAway_rad)
            << corners << " of the base speed";
    EXPECT_LT(difference(axis, 1.3 * dynamics::base_rate_rad_s(axis), 1500.0, kShippedStep_s),
              kAboveCorner_rad);
}

TEST(OutsideMotion, HalvingTheStepQuartersTheDifference) {
    const dynamics::AxisDynamics axis = reference::smooth_axis();
    const double coarse = difference(axis, 50.0, 1500.0, kShippedStep_s);
    const double fine = difference(axis, 50.0, 1500.0, 0.25 * kShippedStep_s);
    // Second order gives 16; the sampling of the pulses moves with the step, so some of it is lost.
    EXPECT_GT(coarse / fine, 8.0);
}

TEST(OutsideMotion, GivesTheSameSlipVerdictsAsRungeKutta8) {
    // Starts at a speed step, up to 1.6 times what the formula allows: from safe to hopeless.
    const dynamics::AxisDynamics axis = reference::smooth_axis();
    const double largest =
        motor::speed_step_rad_s(dynamics::peak_torque_Nm(axis), dynamics::total_inertia_kg_m2(axis),
                                axis.rotor_teeth, 0.05);
    int slips = 0;
    constexpr int kStarts = 24;
    for (int i = 1; i <= kStarts; ++i) {
        const double rate = 1.6 * largest * i / kStarts;
        const std::vector<dynamics::RatePhase> start{{0.05, rate, 0.0}};
        const auto edges = dynamics::ideal_edges(start, dynamics::microstep_angle_rad(axis));
        const dynamics::WindowRun run{
            &axis, edges, 0.05, 0.0, rate, dynamics::CurrentRegulator::dead_beat, 1.0};
        const auto reference = reference::run(axis, edges, dynamics::trace(run, kShippedStep_s),
                                              kShippedStep_s, reference::GslAdvance(1e-9));
        EXPECT_EQ(dynamics::simulate(run).lost_synchronism, reference.lost)
            << "start at " << rate << " rad/s";
        if (reference.lost) ++slips;
    }
    EXPECT_GT(slips, kStarts / 6);  // both verdicts occur
    EXPECT_LT(slips, kStarts);
}

}  // namespace
}  // namespace stepper_sim
