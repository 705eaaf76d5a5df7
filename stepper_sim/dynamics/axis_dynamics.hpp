/// One motor and what it moves, in SI numbers, with its natural frequencies and vibration modes.
/// Not the torque curve of the motor (torque_table.hpp carries one) and not the time history (modal_screen.hpp, full_model.hpp).
/// Model:   rotor on the magnetic spring of its own field, load on the transmission spring behind it; small swings
/// Formula: km = Nr T0, T0 = f Km I; rigid: w = sqrt(km/(Jr + Jl)); elastic: K phi = w^2 M phi, phi^T M phi = 1,
///          K = [[km + kb, -kb], [-kb, kb]], M = diag(Jr, Jl); zeta = phi^T C phi/(2 w), C = [[Br + cb, -cb], [-cb, Bl + cb]]
/// Symbols: Jr, Jl = rotor and load inertia [kg m2]; kb, cb = transmission stiffness [N m/rad] and damping [N m s/rad];
///          Br, Bl = viscous friction at rotor and load [N m s/rad]; Km = torque constant [N m/A]; I = peak phase current [A];
///          f = share of the torque that reaches the shaft; Nr = rotor teeth; w = natural rate [rad/s]; zeta = damping ratio
/// Valid:   swings well below a quarter of the tooth pitch (at 2.5 rad electrical the rate is 0.61 of this one); light damping:
///          the coupling of the modes through C is ignored
/// Source:  W. T. Thomson, Theory of Vibration with Applications, modal analysis (from memory); the magnetic spring is the slope
///          of the sine torque curve, derived
/// Checked by: AxisDynamics.ModesAreOrthogonalAndUnitMass, OutsideVibration.MotorNaturalFrequencyM02
#pragma once

#include <array>
#include <cstddef>
#include <limits>
#include <span>
#include <vector>

namespace stepper_sim::dynamics {

/// A transmission without give: rotor and load turn as one.
inline constexpr double kRigid_Nm_rad = std::numeric_limits<double>::infinity();

/// A vibration of frame, head or bed that the user measured; it shakes the tool but does not load
/// the motor.
struct CarriageMode {
    double frequency_Hz = 0.0;  // > 0
    double damping = 0.02;      // ratio, in [0, 1)
};

/// Everything about one motor and its load, seen at the rotor. Positive rotation is positive
/// travel.
struct AxisDynamics {
    // Motor and drive.
    double resistance_ohm = 1.0;        // per phase, > 0
    double inductance_H = 1e-3;         // per phase, > 0
    double torque_constant_Nm_A = 0.1;  // per phase, > 0: holding torque / (sqrt2 rated current)
    double current_A = 1.0;             // peak of the sine, > 0
    double supply_V = 24.0;             // > 0
    int rotor_teeth = 50;               // 50 for 1.8 degrees, 100 for 0.9
    int microsteps = 16;                // per full step
    double detent_torque_Nm = 0.0;      // four cycles per tooth pitch
    double torque_factor = 1.0;         // running factor: what reaches the shaft of the torque made
    // Mechanics.
    double rotor_inertia_kg_m2 = 1e-5;
    double load_inertia_kg_m2 = 0.0;          // reflected
    double stiffness_Nm_rad = kRigid_Nm_rad;  // transmission
    double coupling_damping_Nms_rad = 0.0;    // of the transmission
    double rotor_viscous_Nms_rad = 0.0;
    double load_viscous_Nms_rad = 0.0;
    double coulomb_Nm = 0.0;      // dry friction of the load
    double gravity_Nm = 0.0;      // against positive rotation; where raising and lowering differ (a
                                  // screw), their mean, and half their difference is dry friction
    double metres_per_rad = 0.0;  // travel of the carriage per radian of the motor
    std::vector<CarriageMode> carriage_modes;
};

/// Guess: bearing, iron and drive damping as a share of the peak torque, per rad/s; spread a factor
/// of three either way.
inline constexpr double kDefaultViscousShare_s = 3e-4;
/// Guess: damping ratio of a belt or screw drive; spread 0.01 to 0.05.
inline constexpr double kDefaultModalDamping = 0.02;

/// Peak of the torque curve against load angle: T0 = f Km I [N m].
double peak_torque_Nm(const AxisDynamics& axis);
/// Stiffness of the magnetic spring at small load angles: Nr T0 [N m/rad].
double magnetic_stiffness_Nm_rad(const AxisDynamics& axis);
/// True when no finite stiffness or no load inertia is given.
bool is_rigid(const AxisDynamics& axis);
double total_inertia_kg_m2(const AxisDynamics& axis);

/// Natural rate of rotor and load turning as one on the magnetic spring [rad/s].
double rigid_natural_rate_rad_s(const AxisDynamics& axis);
/// Natural rate of the load on the transmission while the rotor is held: the rate at which corners
/// make the carriage ring [rad/s]; infinite when rigid.
double load_natural_rate_rad_s(const AxisDynamics& axis);
/// Transmission damping that gives the load, rotor held, the damping ratio `ratio` [N m s/rad]; 0
/// when rigid.
double coupling_damping_for(const AxisDynamics& axis, double ratio);

/// Speed from which the supply no longer holds the full current sine [rad/s]; 0 when R I >= V
/// (stepper_sim/motor/voltage_limit.hpp).
double base_rate_rad_s(const AxisDynamics& axis);

/// Command angle of one microstep [rad of the shaft].
double microstep_angle_rad(const AxisDynamics& axis);

/// One mass-normalised mode.
struct VibrationMode {
    double rate_rad_s = 0.0;     // undamped
    double damping = 0.0;        // ratio, kept below 1
    double rotor_shape = 0.0;    // phi of the rotor [1/sqrt(kg m2)]
    double load_shape = 0.0;     // phi of the load
    double participation = 0.0;  // phi^T M 1: how a command acceleration drives it [sqrt(kg m2)]
};

/// One mode when rigid, two when elastic, slowest first.
struct VibrationModes {
    std::array<VibrationMode, 2> mode{};
    int count = 0;

    std::span<const VibrationMode> used() const {
        return {mode.data(), static_cast<std::size_t>(count)};
    }
};

VibrationModes vibration_modes(const AxisDynamics& axis);

}  // namespace stepper_sim::dynamics
