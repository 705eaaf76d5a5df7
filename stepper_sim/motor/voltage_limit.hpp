/// Torque a two-phase stepping motor can make at speed when current and voltage are both limited:
/// the ideal motor. Not what a real motor makes: that is less, by the running factor
/// (running_factor.hpp) joined in available_torque.hpp.
///
/// Model:   sinusoidal torque, constant R, L and Km, the best current angle; vd = R id - we L iq,
///          vq = R iq + we L id + Km w, T = Km iq
/// Formula: 1. w <= wc: T = Km I
///          2. both limits bind: T = Km I cos(b),
///             b = arccos((V^2 - E^2 - |Z|^2 I^2)/(2 E I |Z|)) - phi
///          3. voltage alone, where hypot(V/|Z| - E R/|Z|^2, E X/|Z|^2) <= I:
///             T = Km (V/|Z| - E R/|Z|^2)
///          wc = positive root of w^2 (Km^2 + (Nr L I)^2) + 2 R I Km w + R^2 I^2 - V^2 = 0
/// Symbols: Km = torque constant per phase [N m/A] = holding torque/peak current of the plate, I =
///          peak phase current [A], V = voltage amplitude [V], w = rotor speed [rad/s], Nr = rotor
///          teeth, we = Nr w, X = we L, Z = R + jX, phi = arg Z, E = Km w
/// Valid:   linear magnetics, no iron loss, no friction; above wc an upper bound, mid-frequency
///          instability can halve it
/// Source:  derived here from the phase equations; region 3 has the form of P. Acarnley, Stepping
///          Motors, ch. 5 (form from memory)
/// Checked by: VoltageLimit.CornerSpeedSatisfiesItsEquation, PullOutExample.*, LoadRamp.*
#pragma once

#include <cstdint>

#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::motor {

/// The plate of a motor as SI numbers. What the plate does not give is estimated from the holding
/// torque, and marked.
struct MotorConstants {
    double resistance_ohm = 0.0;
    double inductance_H = 0.0;
    double torque_constant_Nm_A = 0.0;  // per phase, per ampere of the peak
    double rotor_inertia_kg_m2 = 0.0;
    int rotor_teeth = 50;
    bool resistance_estimated = false;
    bool inductance_estimated = false;
    bool inertia_estimated = false;
};

/// What the plate of a hybrid motor usually holds where it is silent; I = RMS current of the plate,
/// T = holding torque. Guess: medians over 45 plates of frames 11 to 34 without those wired for one
/// direction: L I^2/T = 0.019 H A^2/(N m), nine in ten within x/1.5; by frame up to 14, 17, 23-24,
/// above: R I^2/T = 34, 12, 5, 2.3 ohm A^2/(N m); J/T = 1.5e-5, 1.5e-5, 2.6e-5, 3.3e-5 kg/N m.
inline constexpr double kTypicalInductance_H_A2_Nm = 0.019;
inline constexpr double kInductanceSpread = 1.5;
/// Nine in ten of the same plates: R I^2/T of a frame size from 0.7 to 2 times its median, J/T within x/1.5.
inline constexpr double kResistanceLow = 0.7, kResistanceHigh = 2.0;
inline constexpr double kInertiaSpread = 1.5;

MotorConstants motor_constants(const machine::MotorPart& motor);

/// Highest speed [rad/s] at which the full peak current still flows; 0 where R I >= V, so that it
/// never does.
double base_rate_rad_s(const MotorConstants& motor, double peak_A, double voltage_V);

/// Ideal torque [N m] at `rate_rad_s` (>= 0) within both limits; never negative. About 30 ns.
double ideal_torque_Nm(const MotorConstants& motor, double peak_A, double voltage_V,
                       double rate_rad_s);

/// Ideal torque between the two readings of the voltage limit: the sine of amplitude V near the
/// base speed, the fundamental 4V/pi of a square wave far above it: T(V) + [T(4V/pi) - T(V)]
/// clamp((w/wc - 1)/2, 0, 1). A simulated slow load ramp falls out within -10..+11 % of it
/// with a dead-beat current regulator, -5..+27 % with a mixed-decay chopper. ideal_torque_Nm at V
/// is the cautious curve.
double average_torque_Nm(const MotorConstants& motor, double peak_A, double voltage_V,
                         double rate_rad_s);

/// Torque limited by current alone and by voltage alone, joined by a rounded knee in place of
/// region 2: T = Km (I^-4 + iq^-4)^(-1/4), iq = V/|Z| - E R/|Z|^2. At it 0.84 of the ideal,
/// a twentieth of that loss at half and at twice its speed. Published curves bend like this long
/// before it; the exponent is fitted to them (running_factor.hpp).
double rounded_torque_Nm(const MotorConstants& motor, double peak_A, double voltage_V,
                         double rate_rad_s);

/// How far the ideal curve can be trusted: to the base speed wc, to 1.5 wc, beyond.
enum class Region : std::uint8_t { supported, sensitive, upper_bound };

Region region_at(double rate_rad_s, double base_rad_s);
const char* name(Region region);  // "supported", "sensitive", "upper bound"

}  // namespace stepper_sim::motor
