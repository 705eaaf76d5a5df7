/// The start-rate formula against the full model, and natural frequencies of the full model against published and closed forms.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "printed.hpp"
#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/motor/speed_step.hpp"

namespace stepper_sim {
namespace {

using printed::half_unit;

/// Own numbers; a supply that leaves the currents free to follow, no friction of any kind.
dynamics::AxisDynamics free_axis() {
    dynamics::AxisDynamics axis;
    axis.resistance_ohm = 1.65;
    axis.inductance_H = 2.8e-3;
    axis.torque_constant_Nm_A = 0.17;
    axis.current_A = 1.7;
    axis.supply_V = 400.0;
    axis.microsteps = 64;
    axis.rotor_inertia_kg_m2 = 5.4e-6;
    axis.load_inertia_kg_m2 = 1.8e-5;
    return axis;
}

bool starts(const dynamics::AxisDynamics& axis, double rate) {
    const std::vector<dynamics::RatePhase> start{{0.08, rate, 0.0}};
    const auto edges = dynamics::ideal_edges(start, dynamics::microstep_angle_rad(axis));
    return !dynamics::simulate(
                {&axis, edges, 0.08, 0.0, rate, dynamics::CurrentRegulator::dead_beat, 1.0})
                .lost_synchronism;
}

double highest_start(const dynamics::AxisDynamics& axis, double high) {
    double low = 0.0;
    for (int i = 0; i < 14; ++i) {
        const double middle = 0.5 * (low + high);
        (starts(axis, middle) ? low : high) = middle;
    }
    return low;
}

TEST(OutsideMotion, StartRateFormulaMeetsTheFullModelWhenRigid) {
    const double kFormula = 0.003;  // bisection to 1e-4, microsteps of the command, regulator lag
    for (const double load : {0.0, 0.2, 0.5}) {
        dynamics::AxisDynamics axis = free_axis();
        axis.gravity_Nm = load * dynamics::peak_torque_Nm(axis);
        const double formula =
            motor::speed_step_rad_s(dynamics::peak_torque_Nm(axis),
                                    dynamics::total_inertia_kg_m2(axis), axis.rotor_teeth, load);
        EXPECT_NEAR(highest_start(axis, 2.0 * formula) / formula, 1.0, kFormula) << load;
    }
}

TEST(OutsideMotion, StartRateFormulaIsCautiousWhenElastic) {
    dynamics::AxisDynamics axis = free_axis();
    const double formula = motor::speed_step_rad_s(
        dynamics::peak_torque_Nm(axis), dynamics::total_inertia_kg_m2(axis), axis.rotor_teeth, 0.0);
    for (const double stiffness : {2.0, 6.0, 20.0}) {
        axis.stiffness_Nm_rad = stiffness;
        axis.coupling_damping_Nms_rad =
            dynamics::coupling_damping_for(axis, dynamics::kDefaultModalDamping);
        const double share = formula / highest_start(axis, 4.0 * formula);
        EXPECT_LT(share, 1.003) << stiffness;
        EXPECT_GT(share, 0.5) << stiffness;
    }
}

/// Mean rate of small swings of the lag about its mean [rad/s].
double swing_rate(const dynamics::AxisDynamics& axis) {
    const std::vector<dynamics::StepEdge> kick{{0.001, 1}};
    const double step_s = 5e-6;
    const auto states = dynamics::trace(
        {&axis, kick, 0.15, 0.0, 0.0, dynamics::CurrentRegulator::dead_beat, 1.0}, step_s);
    double mean = 0.0;
    for (const dynamics::MotorState& s : states)
        mean += s.lag_rad / static_cast<double>(states.size());
    double first_s = 0.0;
    double last_s = 0.0;
    int crossings = 0;
    for (std::size_t i = 400; i < states.size(); ++i) {
        const double a = states[i - 1].lag_rad - mean;
        const double b = states[i].lag_rad - mean;
        if ((a < 0.0) == (b < 0.0)) continue;
        last_s = states[i - 1].time_s + step_s * a / (a - b);
        if (crossings++ == 0) first_s = last_s;
    }
    return std::numbers::pi * (crossings - 1) / (last_s - first_s);
}

// M01, published: 0.32 N cm winds a shaft up by 0.3 degrees, J = 48 g cm2: 0.611 N m/rad, 357 rad/s, 56.8 Hz.
// READ: industrialmonitordirect.com, "Stepper Motor Natural Frequency: Correct Formula and Unit Conversion" (weak publisher, sound
// arithmetic; original question READ: eng-tips.com, viewthread qid=191833).
TEST(OutsideMotion, WindUpResonanceM01) {
    const double stiffness = 0.32e-2 / (0.3 * std::numbers::pi / 180.0);
    EXPECT_NEAR(stiffness, 0.611, half_unit(3));
    dynamics::AxisDynamics axis = free_axis();
    axis.torque_constant_Nm_A =
        stiffness / axis.rotor_teeth / axis.current_A;  // magnetic spring of that stiffness
    axis.rotor_inertia_kg_m2 = 48e-7;
    axis.load_inertia_kg_m2 = 0.0;
    EXPECT_NEAR(dynamics::vibration_modes(axis).mode[0].rate_rad_s, 357.0, half_unit(0));
    EXPECT_NEAR(dynamics::vibration_modes(axis).mode[0].rate_rad_s / (2.0 * std::numbers::pi), 56.8,
                half_unit(1));
    EXPECT_NEAR(swing_rate(axis) / (2.0 * std::numbers::pi), 56.8,
                half_unit(1));  // and the full model swings so
}

// M04, derived here: a load bends the torque curve's slope, f/f0 = (1 - (T/Tpk)^2)^(1/4); 0.7746 at 0.8.
TEST(OutsideMotion, LoadSoftensTheMagneticSpringM04) {
    dynamics::AxisDynamics axis = free_axis();
    const double unloaded = swing_rate(axis);
    axis.gravity_Nm = 0.8 * dynamics::peak_torque_Nm(axis);
    const double kSmallSwing =
        0.002;  // one microstep of 64 is 0.025 rad, not infinitely small at this tilt
    EXPECT_NEAR(swing_rate(axis) / unloaded, 0.7745966692, kSmallSwing);
}

}  // namespace
}  // namespace stepper_sim
