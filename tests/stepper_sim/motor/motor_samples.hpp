/// Motors and machines of round numbers for the tests of this folder.
#pragma once

#include <cmath>

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::samples {

using planner::from_si;

inline machine::RatedCurrent rms(double amperes) {
    return {from_si<planner::Current>(amperes), machine::CurrentBasis::rms};
}
inline machine::RatedCurrent peak(double amperes) {
    return {from_si<planner::Current>(amperes), machine::CurrentBasis::peak};
}
inline planner::Voltage volts(double v) {
    return from_si<planner::Voltage>(v);
}
inline planner::AngularSpeed rate(double rad_s) {
    return from_si<planner::AngularSpeed>(rad_s);
}

/// Holding torque 0.4 N m at 2 A RMS: torque constant 0.4/(2 sqrt2) N m/A.
inline machine::MotorPart motor() {
    machine::MotorPart m;
    m.name = "sample";
    m.frame = 17;
    m.rated_current = rms(2.0);
    m.holding_torque = from_si<planner::Torque>(0.4);
    m.resistance = from_si<planner::Resistance>(1.5);
    m.inductance = from_si<planner::Inductance>(3e-3);
    m.rotor_inertia = from_si<planner::Inertia>(6e-6);
    m.source.document = "made up";
    return m;
}

/// The same motor with a curve at 24 V, 2 A RMS.
inline machine::MotorPart motor_with_curve() {
    machine::MotorPart m = motor();
    machine::PullOutCurve curve;
    curve.supply = volts(24.0);
    curve.current = rms(2.0);
    curve.source.document = "made-up curve";
    for (const auto& [rad_s, Nm] :
         {std::pair{10.0, 0.33}, {20.0, 0.34}, {40.0, 0.32}, {60.0, 0.25}, {90.0, 0.15}}) {
        curve.speeds.push_back(rate(rad_s));
        curve.torques.push_back(from_si<planner::Torque>(Nm));
    }
    m.curves.push_back(curve);
    return m;
}

inline machine::Axis belt_axis(char letter, double mass_kg, double friction_N) {
    machine::Axis axis;
    axis.letter = letter;
    axis.drive.belt_pitch = from_si<planner::Length>(2e-3);
    axis.drive.pulley_teeth = 20;
    axis.motor = motor();
    axis.current = rms(2.0);
    axis.supply = volts(24.0);
    axis.load.mass = from_si<planner::Mass>(mass_kg);
    axis.load.friction = from_si<planner::Force>(friction_N);
    return axis;
}

inline machine::Axis screw_axis(char letter, double mass_kg, double friction_N, double lead_m,
                                double efficiency) {
    machine::Axis axis = belt_axis(letter, mass_kg, friction_N);
    axis.drive.belt_pitch.reset();
    axis.drive.screw_lead = from_si<planner::Length>(lead_m);
    axis.drive.screw_efficiency = efficiency;
    return axis;
}

inline machine::Machine machine(std::initializer_list<machine::Axis> axes,
                                planner::Kinematics kinematics = planner::Kinematics::cartesian) {
    machine::Machine m;
    m.kinematics = kinematics;
    m.axes = axes;
    std::string letters;
    for (const machine::Axis& axis : m.axes)
        letters += axis.letter;
    m.program.axes = planner::AxisSet(letters);
    return m;
}

}  // namespace stepper_sim::samples
