/// Torque a motion asks of each motor: inertia, friction, gravity, through belt or screw and gear,
/// shared between motors. A quasi-static demand: oscillation is stepper_sim/dynamics' business;
/// what the motor can give is available_torque.hpp's.
///
/// Model:   rigid transmission. Axis force F = m a + (F_C + B |v|) sgn(v) + G. The motors of an
///          axis share it evenly. Crossed belts: motor speeds are q' = A v with A = [1 1; 1 -1]
///          (planner/kinematics). Power is the same on both sides, Q^T q' = F^T v for every v, so F
///          = A^T Q: the force map is the transpose of the motion map, and its inverse gives Q_X =
///          (F_x + F_y)/2, Q_Y = (F_x - F_y)/2: along one axis each motor carries half, along a
///          diagonal one carries all.
/// Formula: T = | (Jr + Js/i^2) a_q/r + Q r e/n |, r = travel per motor turn/(2 pi), which holds
///          the gear ratio; e = 1/eta where the motor drives (Q q' >= 0), 2 - 1/eta where the load
///          drives (negative: self-locking, the motor must push)
/// Symbols: m = moved mass [kg], F_C = Coulomb friction [N], B = viscous friction [N s/m], G =
///          weight [N], Q = force in the belt or at the nut [N], q' = its speed [m/s], a_q = its
///          acceleration [m/s2], r = effective radius [m], eta = screw efficiency (1: belt), Jr, Js
///          = inertia of rotor and of screw [kg m2], i = gear ratio, n = motors on the axis
/// Valid:   no gear loss; each of several motors on a screw axis turns a screw of its own; standing
///          still counts as starting in the direction of the acceleration; a resting load on a
///          screw is held by friction as far as friction goes
/// Source:  Newton's second law and virtual work, derived here; reflected inertia m r^2 and m
///          (lead/2 pi)^2 are standard
/// Checked by: AskedTorque.*, SizingExamples.*
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

#include "planner/program/axis_set.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::motor {

struct AxisLoad {
    double mass_kg = 0.0;
    double friction_N = 0.0;
    double viscous_N_s_m = 0.0;  // not in the machine file: set by a fit
    double weight_N = 0.0;       // against positive travel

    double force_N(double speed_m_s, double acceleration_m_s2) const {
        const double way = speed_m_s != 0.0 ? speed_m_s : acceleration_m_s2;
        const double drag_N = way == 0.0 ? 0.0 : std::copysign(friction_N, way);
        return mass_kg * acceleration_m_s2 + drag_N + viscous_N_s_m * speed_m_s + weight_N;
    }
};

/// One motor: which axes it moves with (motion) and which part of their forces it carries (share);
/// slots index AxisArray.
struct MotorLoad {
    std::array<std::size_t, 2> axis{};
    std::array<double, 2> motion{1.0, 0.0};
    std::array<double, 2> share{1.0, 0.0};  // already divided by the motors on the axis
    double radius_m = 0.0;                  // belt or nut travel per radian of the motor
    double rotating_inertia_kg_m2 = 0.0;    // rotor, and screw through the gear
    double forward_gain = 1.0;              // 1/eta
    double back_gain = 1.0;                 // 2 - 1/eta
    int rotor_teeth = 50;
};

struct MotorLoads {
    std::array<AxisLoad, planner::kMaxAxes> axes{};
    std::array<MotorLoad, planner::kMaxAxes> motors{};
    int count = 0;
};

/// The machine's loads as SI numbers, unpacked once. Motors are numbered like the axes that name
/// them.
MotorLoads motor_loads(const machine::Machine& machine);

/// How unsure the loads are. Guess: until fitted from trials.
inline constexpr double kFrictionSpread = 0.30;
inline constexpr double kMassSpread = 0.10;

/// The same loads with moved masses (and weights) and frictions multiplied: (1.1, 1.3) asks the
/// most, (0.9, 0.7) the least.
MotorLoads spread(const MotorLoads& loads, double mass_factor, double friction_factor);
inline MotorLoads heavy(const MotorLoads& loads) {
    return spread(loads, 1.0 + kMassSpread, 1.0 + kFrictionSpread);
}
inline MotorLoads light(const MotorLoads& loads) {
    return spread(loads, 1.0 - kMassSpread, 1.0 - kFrictionSpread);
}

/// Whether an axis carries a weight through a drive that runs backwards (a belt, a screw of efficiency above a half): without the
/// motor's torque only friction keeps it up.
inline bool weight_drives_back(const MotorLoads& loads, std::size_t slot) {
    return loads.axes[slot].weight_N > 0.0 && loads.motors[slot].back_gain > 0.0;
}

/// Speed of a motor's shaft [rad/s] at axis speeds [m/s].
inline double rate_rad_s(const MotorLoads& loads, int motor,
                         const planner::AxisArray& axis_speed_m_s) {
    const MotorLoad& m = loads.motors[static_cast<std::size_t>(motor)];
    return (m.motion[0] * axis_speed_m_s[m.axis[0]] + m.motion[1] * axis_speed_m_s[m.axis[1]]) /
           m.radius_m;
}

/// Magnitude of the torque asked of each motor [N m]. About 10 ns.
inline double asked_Nm(const MotorLoads& loads, int motor, const planner::AxisArray& axis_speed_m_s,
                       const planner::AxisArray& axis_acceleration_m_s2) {
    const MotorLoad& m = loads.motors[static_cast<std::size_t>(motor)];
    double force_N = 0.0, speed_m_s = 0.0, acceleration_m_s2 = 0.0;
    // Only a crossed belt ties a motor to a second axis.
    const std::size_t axes = m.motion[1] == 0.0 && m.share[1] == 0.0 ? 1 : 2;
    for (std::size_t i = 0; i < axes; ++i) {
        const double v = axis_speed_m_s[m.axis[i]];
        const double a = axis_acceleration_m_s2[m.axis[i]];
        speed_m_s += m.motion[i] * v;
        acceleration_m_s2 += m.motion[i] * a;
        force_N += m.share[i] * loads.axes[m.axis[i]].force_N(v, a);
    }
    const double turning_Nm = m.rotating_inertia_kg_m2 * acceleration_m_s2 / m.radius_m;
    const double way = speed_m_s != 0.0 ? speed_m_s : acceleration_m_s2;
    if (way == 0.0) return std::fabs(force_N) * m.radius_m * std::max(0.0, m.back_gain);
    const double gain = force_N * way >= 0.0 ? m.forward_gain : m.back_gain;
    return std::fabs(turning_Nm + force_N * m.radius_m * gain);
}

/// Inertia at one motor's shaft besides rotating_inertia_kg_m2, in the direction of travel that
/// makes it largest [kg m2].
double load_inertia_kg_m2(const MotorLoads& loads, int motor);

}  // namespace stepper_sim::motor
