/// Motors, drivers, supplies, currents, microsteps and gears compared side by side for one axis: what the `torque` command tabulates.
/// No program is run here, and resonance is not looked at.
/// Model:   each candidate judged with the same curves, loads and ceilings as the checks; on a crossed belt the axis alone and along the
///          diagonal with the other, whichever asks more
/// Formula: margin(v) = 1 - asked(v, a)/available(v); top speed = first v where the low curve leaves less than the margin asked for,
///          at most the step-rate ceiling
/// Symbols: v = travel of belt or nut [m/s], a = acceleration [m/s^2]; asked, available = torques [N m]
/// Valid:   looked at every 1/200 of the base speed: a narrower dip is below the curves' own detail
/// Source:  derived here
/// Checked by: CompareMotors.TopSpeedLeavesExactlyTheMarginOnTheLowCurve, CompareMotors.StepRateBindsWhereTorqueWouldGoFurther
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/motor/available_torque.hpp"
#include "stepper_sim/run/binding.hpp"

namespace stepper_sim::limits {

/// What a candidate changes; whatever is absent stays as the machine has it.
struct Swap {
    std::string label;
    std::optional<machine::MotorPart> motor;
    std::optional<machine::DriverPart> driver;
    std::optional<planner::Voltage> supply;
    std::optional<machine::RatedCurrent> current;
    std::optional<int> microsteps;
    std::optional<double> gear_ratio;
};

/// The axis with the swap made. A new motor without a stated current gets its rated current, or the driver's maximum where that is
/// less, and loses the running factor, which belonged to the old motor. Steps per mm follow the mechanics.
machine::Axis swapped(const machine::Axis& axis, const Swap& swap);

struct ComparisonQuestion {
    std::vector<double>
        speeds_m_s;  // travel of the motor's belt or nut, > 0; empty: the axis's max_speed
    std::optional<double> acceleration_m_s2;  // absent: the axis's max_acceleration
    double margin = 0.2;                      // share of the torque to be left over, in [0, 1)
};

/// One candidate at one speed. Margins are shares of the available torque left over: 1 - asked/available, not below -999.
struct SpeedPoint {
    double speed_m_s = 0.0, rate_rad_s = 0.0;
    double low_Nm = 0.0, nominal_Nm = 0.0, high_Nm = 0.0;
    double asked_Nm = 0.0;
    double margin_low = 0.0, margin_nominal = 0.0, margin_high = 0.0;
    motor::Region region = motor::Region::supported;
    bool beyond_curve = false;
};

struct Candidate {
    std::string label;
    machine::Axis axis;              // with the swap made
    std::vector<SpeedPoint> points;  // in the order of the question's speeds
    double base_speed_m_s = 0.0;     // travel at the motor's base speed
    double top_speed_m_s =
        0.0;  // highest travel up to which the low curve leaves the margin, and every ceiling holds
    double top_speed_nominal_m_s = 0.0;         // the same on the nominal curve
    run::Binding binds = run::Binding::torque;  // what ends its speed range
    std::string torque_basis;                   // one sentence: what its curves rest on
    std::vector<std::string> problems;  // ratings broken; a candidate with any is listed last
};

/// The machine's axis as it is (label "as it is") and every swap, best first: no problems before problems, then by the smallest low
/// margin over the asked speeds, then by top speed. `axis_slot` is an index into machine.axes.
/// On a crossed belt the axis is taken alone and along the diagonal with the other, whichever asks more.
std::vector<Candidate> compare_motors(const machine::Machine& machine, int axis_slot,
                                      std::span<const Swap> swaps,
                                      const ComparisonQuestion& question);

}  // namespace stepper_sim::limits
