/// Swings that a motor makes by itself, against published figures: free swing about a held position, and the instability of a steady run.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/motor/speed_step.hpp"

namespace stepper_sim {
namespace {

constexpr double kTurn_rad = 2.0 * std::numbers::pi;

// Maker's sheets of two disc-magnet motors (Portescap P310, P760; from memory): holding torque, rotor inertia, natural resonance
// frequency with the rotor alone. The sheets print them rounded; a real torque curve is no sine, which moves the slope at its zero.
TEST(OutsideFreeSwing, TwoDiscMagnetMotorsSwingAtTheFrequencyOfTheirSheets) {
    constexpr double kSheet = 0.1;
    const struct {
        double torque_Nm, inertia_kg_m2;
        int teeth;
        double published_Hz;
    } motors[] = {{0.325, 17e-7, 12, 240.0}, {0.014, 0.86e-7, 15, 230.0}};
    for (const auto& motor : motors)
        EXPECT_NEAR(motor::natural_rate_rad_s(motor.torque_Nm, motor.inertia_kg_m2, motor.teeth) /
                        kTurn_rad / motor.published_Hz,
                    1.0, kSheet);
}

/// A 1.8 degree motor of 0.4 N m on a supply that just drives its current through its resistance: no regulator helps it.
dynamics::AxisDynamics unregulated() {
    dynamics::AxisDynamics axis;
    axis.torque_constant_Nm_A = 0.2;
    axis.current_A = 2.0;
    axis.resistance_ohm = 1.5;
    axis.inductance_H = 3.5e-3;
    axis.supply_V = axis.resistance_ohm * axis.current_A;
    axis.rotor_inertia_kg_m2 = 0.8e-5;
    axis.load_inertia_kg_m2 = 1e-9;
    axis.rotor_teeth = 50;
    axis.microsteps = 16;
    return axis;
}

/// How far the load angle still moves to and fro after 1.7 s of a steady run at this electrical speed, from peak to peak.
double lasting_swing_rad(const dynamics::AxisDynamics& axis, double electrical_rad_s) {
    constexpr double kRun_s = 2.0, kSettled_s = 1.7, kStep_s = 10e-6;
    const double rate = electrical_rad_s / axis.rotor_teeth;
    const std::vector<dynamics::RatePhase> cruise{{kRun_s, rate, 0.0}};
    const auto edges = dynamics::ideal_edges(cruise, dynamics::microstep_angle_rad(axis));
    double least = 1e9, most = -1e9;
    for (const dynamics::MotorState& state : dynamics::trace(
             {&axis, edges, kRun_s, rate, rate, dynamics::CurrentRegulator::dead_beat, 1.0},
             kStep_s)) {
        if (state.time_s < kSettled_s) continue;
        least = std::min(least, state.lag_rad);
        most = std::max(most, state.lag_rad);
    }
    return most - least;
}

// P. Acarnley, Stepping Motors, 4th ed., 5.5 (from memory): without help from its drive a motor swings by itself at electrical speeds
// near R/L; the figure is an order, so a factor of two is asked.
TEST(OutsideMidBand, ASteadyRunSwingsMostByItselfNearTheElectricalPole) {
    constexpr double kFactor = 2.0, kStands_out = 3.0, kLadder = 1.15;
    const dynamics::AxisDynamics axis = unregulated();
    const double pole_rad_s = axis.resistance_ohm / axis.inductance_H;
    double worst_rad = 0.0, worst_share = 0.0;
    for (double share = 0.25; share < 2.2; share *= kLadder) {
        const double swing_rad = lasting_swing_rad(axis, share * pole_rad_s);
        ASSERT_LT(swing_rad, kTurn_rad) << "lost at " << share;
        if (swing_rad > worst_rad) {
            worst_rad = swing_rad;
            worst_share = share;
        }
    }
    EXPECT_GT(worst_share, 1.0 / kFactor);
    EXPECT_LT(worst_share, kFactor);
    for (const double away : {0.25, 2.0})
        EXPECT_GT(worst_rad, kStands_out * lasting_swing_rad(axis, away * pole_rad_s)) << away;
}

}  // namespace
}  // namespace stepper_sim
