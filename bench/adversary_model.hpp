/// A second model of motors, belts and loads, for trying to prove a verdict wrong. It shares no code with stepper_sim/dynamics: textbook
/// equations, another form of current control, another form of friction, another integrator (classic Runge-Kutta of Boost.Odeint).
///
/// Model:   one or two two-phase hybrid motors, each on a belt that is a spring with a damper; one load, or two loads that two belts pull
///          in sum and difference (crossed belts: one plant of two rotors and two loads)
/// Formula: L i' = v - R i - e, e = Km w (-sin, cos)(Nr theta)
///          v = clamp(R i* + (L/tau)(i* - i) + e, +-V), i* = I (cos, sin)(command)
///          J w' = f Km (-ia sin + ib cos)(Nr theta) - Td sin(4 Nr theta) - B w - r S
///          S = k u + c u', u = r theta - (A x)_motor
///          m x'' = (A^T S)_axis - F clamp(x'/v0, +-1) + P, A = [1] or [1 1; 1 -1]
/// Symbols: i = phase currents [A], I = peak of their sine, tau = time constant of the regulator [s], f = torque factor, Td = detent
///          torque, r = belt travel per radian [m], S = force of a belt [N], F = Coulomb friction [N], v0 = speed at which it is full
///          [m/s], P = a steady pull [N]
/// Valid:   steps of the command are spread over the integration step they fall into; friction below v0 is viscous, so a load at rest
///          creeps: v0 = max(1 mm/s, 2 h F/m) keeps h F/(m v0) <= 0.5, inside the stable range of the integrator, 2.78
/// Source:  equations: T. Kenjo, A. Sugawara, Stepping Motors and their Microprocessor Controls (from memory); proportional current
///          control with feed-forward is common practice
/// Checked by: adversary --self-check
#pragma once

#include <array>
#include <functional>
#include <span>

namespace stepper_sim::adversary {

/// Guess: a current regulator's closed loop, about one period of a 20 kHz chopper.
inline constexpr double kRegulator_s = 45e-6;

/// Under half of the regulator's time constant, a hundredth of the shortest belt vibration drawn. Tried with --halve on seed 2, 50 cases
/// (1354 runs): 6 answers change from 40 to 20 us, 3 from 20 to 10 us, 3 from 10 to 5 us, so what is left is not the step's doing but
/// swings so near to a slip that anything decides.
inline constexpr double kStep_s = 20e-6;

struct Motor {
    double resistance_ohm = 0.0, inductance_H = 0.0, torque_constant_Nm_A = 0.0;
    double current_A = 0.0;  // peak
    double supply_V = 0.0;
    double torque_factor = 1.0;
    double detent_Nm = 0.0;
    double inertia_kg_m2 = 0.0, viscous_Nms_rad = 0.0;
    double teeth = 50.0;
    double microsteps = 16.0;
    double radius_m = 0.0;
    double belt_N_m = 0.0, belt_Ns_m = 0.0;  // 0: no belt

    double peak_torque_Nm() const { return torque_factor * torque_constant_Nm_A * current_A; }
    double step_rad() const;  // electrical, per pulse
};

struct Load {
    double mass_kg = 1.0, friction_N = 0.0;
    double pull_N = 0.0;
};

struct Plant {
    int motors = 1;  // 1: a cartesian axis, 2: crossed belts
    std::array<Motor, 2> motor{};
    std::array<Load, 2> load{};
};

struct Pulse {
    double time_s = 0.0;
    int motor = 0;
    double way = 1.0;  // 1 or -1
};

/// What a plant is doing; electrical angle is teeth x angle.
struct Moment {
    std::array<double, 2> current_a_A{}, current_b_A{}, angle_rad{}, rate_rad_s{};
    std::array<double, 2> position_m{}, speed_m_s{};
};

struct Answer {
    bool slipped = false;
    int motor = 0;              // the first to slip
    double time_s = 0.0;        // when
    double peak_lag_rad = 0.0;  // electrical, of any motor
    std::array<int, 2> lost{};  // tooth pitches, at the end
};

/// After the last pulse, so that a swing dies down before what is lost is counted. Guess: some ten swings.
inline constexpr double kSettle_s = 0.1;

/// Runs the plant from rest until `kSettle_s` after the last pulse, or to the first slip: a lag of more than a tooth pitch at any time,
/// or pitches lost at the end.
Answer run(const Plant& plant, std::span<const Pulse> pulses, double step_s = kStep_s);

/// Speeds below which friction is not yet full [m/s].
double full_friction_m_s(const Load& load, double step_s);

/// For checks of the model: runs from `start` for `seconds` with the command held at zero, and calls `see` after every step.
void watch(const Plant& plant, const Moment& start, double seconds, double step_s,
           const std::function<void(double time_s, const Moment&)>& see);

}  // namespace stepper_sim::adversary
