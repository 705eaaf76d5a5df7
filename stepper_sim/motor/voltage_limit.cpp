#include "stepper_sim/motor/voltage_limit.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace stepper_sim::motor {

namespace {

constexpr double kSensitiveTo = 1.5;  // base speeds; above, damping decides
constexpr double kSquareWave =
    4.0 / std::numbers::pi;  // fundamental of a square wave of unit amplitude

/// Typical plate values per holding torque, by frame (see the header).
struct Typical {
    int up_to_frame;
    double resistance_ohm_A2_Nm;
    double inertia_s2;
};
constexpr std::array<Typical, 4> kTypical{
    {{14, 34.0, 1.5e-5}, {17, 12.0, 1.5e-5}, {24, 5.0, 2.6e-5}, {1000, 2.3, 3.3e-5}}};
constexpr int kUnknownFrame = 17;

const Typical& typical(int frame) {
    const int wanted = frame > 0 ? frame : kUnknownFrame;
    const auto* const found = std::find_if(kTypical.begin(), kTypical.end(), [&](const Typical& t) {
        return wanted <= t.up_to_frame;
    });
    return found == kTypical.end() ? kTypical.back() : *found;
}

}  // namespace

MotorConstants motor_constants(const machine::MotorPart& motor) {
    const double holding_Nm = motor.holding_torque.value();
    const double rated_A = motor.rated_current.rms().value();
    const double torque_per_A2 = holding_Nm / (rated_A * rated_A);
    const Typical& usual = typical(motor.frame);
    MotorConstants out;
    out.rotor_teeth = motor.rotor_teeth();
    out.torque_constant_Nm_A = holding_Nm / motor.rated_current.peak().value();
    out.resistance_estimated = !motor.resistance;
    out.inductance_estimated = !motor.inductance;
    out.inertia_estimated = !motor.rotor_inertia;
    out.resistance_ohm =
        motor.resistance ? motor.resistance->value() : usual.resistance_ohm_A2_Nm * torque_per_A2;
    out.inductance_H =
        motor.inductance ? motor.inductance->value() : kTypicalInductance_H_A2_Nm * torque_per_A2;
    out.rotor_inertia_kg_m2 =
        motor.rotor_inertia ? motor.rotor_inertia->value() : holding_Nm * usual.inertia_s2;
    return out;
}

double base_rate_rad_s(const MotorConstants& motor, double peak_A, double voltage_V) {
    const double resistive_V = motor.resistance_ohm * peak_A;
    if (resistive_V >= voltage_V) return 0.0;
    const double reactance_s = motor.rotor_teeth * motor.inductance_H * peak_A;
    const double a =
        motor.torque_constant_Nm_A * motor.torque_constant_Nm_A + reactance_s * reactance_s;
    const double half_b = resistive_V * motor.torque_constant_Nm_A;
    const double spare = (voltage_V - resistive_V) * (voltage_V + resistive_V);
    return spare /
           (half_b + std::sqrt(half_b * half_b + a * spare));  // the root without cancellation
}

double ideal_torque_Nm(const MotorConstants& motor, double peak_A, double voltage_V,
                       double rate_rad_s) {
    const double Km = motor.torque_constant_Nm_A;
    const double R = motor.resistance_ohm;
    const double E = Km * rate_rad_s;
    const double X = motor.rotor_teeth * rate_rad_s * motor.inductance_H;
    if (std::hypot(R * peak_A + E, X * peak_A) <= voltage_V) return Km * peak_A;
    const double Z = std::hypot(R, X);
    const double iq = voltage_V / Z - E * R / (Z * Z);
    if (std::hypot(iq, E * X / (Z * Z)) <= peak_A) return std::max(0.0, Km * iq);
    const double argument =
        (voltage_V * voltage_V - E * E - Z * Z * peak_A * peak_A) / (2.0 * E * peak_A * Z);
    if (argument < -1.0) return 0.0;
    const double angle = std::acos(std::min(1.0, argument)) - std::atan2(X, R);
    return std::max(0.0, Km * peak_A * std::cos(angle));
}

double rounded_torque_Nm(const MotorConstants& motor, double peak_A, double voltage_V,
                         double rate_rad_s) {
    const double Z =
        std::hypot(motor.resistance_ohm, motor.rotor_teeth * rate_rad_s * motor.inductance_H);
    const double E = motor.torque_constant_Nm_A * rate_rad_s;
    const double by_voltage_A = voltage_V / Z - E * motor.resistance_ohm / (Z * Z);
    if (by_voltage_A <= 0.0) return 0.0;
    const double ratio = peak_A / by_voltage_A;
    return motor.torque_constant_Nm_A * peak_A /
           std::sqrt(std::sqrt(1.0 + ratio * ratio * ratio * ratio));
}

double average_torque_Nm(const MotorConstants& motor, double peak_A, double voltage_V,
                         double rate_rad_s) {
    const double sine_Nm = ideal_torque_Nm(motor, peak_A, voltage_V, rate_rad_s);
    const double base_rad_s = base_rate_rad_s(motor, peak_A, voltage_V);
    if (base_rad_s <= 0.0 || rate_rad_s <= base_rad_s) return sine_Nm;
    const double square_Nm = ideal_torque_Nm(motor, peak_A, kSquareWave * voltage_V, rate_rad_s);
    return sine_Nm + (square_Nm - sine_Nm) * std::min(1.0, (rate_rad_s / base_rad_s - 1.0) / 2.0);
}

Region region_at(double rate_rad_s, double base_rad_s) {
    if (rate_rad_s <= base_rad_s) return Region::supported;
    return rate_rad_s <= kSensitiveTo * base_rad_s ? Region::sensitive : Region::upper_bound;
}

const char* name(Region region) {
    switch (region) {
        case Region::supported:
            return "supported";
        case Region::sensitive:
            return "sensitive";
        case Region::upper_bound:
            return "upper bound";
    }
    return "";
}

}  // namespace stepper_sim::motor
