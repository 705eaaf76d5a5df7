/// Torque and efficiency of a screw from its thread: the reference for what the program makes of its efficiency alone (motor/screw.hpp).
///
/// Model:   load on an inclined plane wrapped round the screw; thread friction as a friction angle
/// Formula: raising T = F r tan(lambda + phi), lowering T = F r tan(phi - lambda); eta =
///          tan(lambda)/tan(lambda + phi); collar friction is an extra T = F mu_c r_c
/// Symbols: F = axial force [N], r = mean thread radius [m], tan(lambda) = lead/(2 pi r), tan(phi) = mu/cos(alpha), mu = thread
///          friction, alpha = half thread angle [rad] (0 square, 15 deg trapezoidal)
/// Valid:   lambda + phi < 90 deg
/// Source:  R. Budynas, K. Nisbett, Shigley's Mechanical Engineering Design, sec. 8-2 (from memory)
/// Checked by: ScrewExamples.*
#pragma once

#include <cmath>
#include <numbers>

namespace stepper_sim::outside {

struct ScrewThread {
    double lead_m = 0.0;
    double mean_radius_m = 0.0;
    double friction = 0.0;  // of the thread
    double half_angle_rad = 0.0;
    double collar_friction = 0.0;  // of a thrust collar, 0: rolling thrust bearing
    double collar_radius_m = 0.0;
};

inline double lead_angle(const ScrewThread& t) {
    return std::atan(t.lead_m / (2.0 * std::numbers::pi * t.mean_radius_m));
}
inline double friction_angle(const ScrewThread& t) {
    return std::atan(t.friction / std::cos(t.half_angle_rad));
}

inline double raising_torque_Nm(const ScrewThread& thread, double force_N) {
    return force_N * (thread.mean_radius_m * std::tan(lead_angle(thread) + friction_angle(thread)) +
                      thread.collar_friction * thread.collar_radius_m);
}

/// Torque that must be applied to lower the load; negative where the load drives the screw.
inline double lowering_torque_Nm(const ScrewThread& thread, double force_N) {
    return force_N * (thread.mean_radius_m * std::tan(friction_angle(thread) - lead_angle(thread)) +
                      thread.collar_friction * thread.collar_radius_m);
}

/// Whether the load stays put with no torque applied.
inline bool self_locking(const ScrewThread& thread) {
    return lowering_torque_Nm(thread, 1.0) >= 0.0;
}

/// Torque of a force at the nut without friction: F lead/(2 pi).
constexpr double frictionless_torque_Nm(double force_N, double lead_m) {
    return force_N * lead_m / (2.0 * std::numbers::pi);
}

/// Work out over work in when raising, collar included.
inline double screw_efficiency(const ScrewThread& thread) {
    return frictionless_torque_Nm(1.0, thread.lead_m) / raising_torque_Nm(thread, 1.0);
}

}  // namespace stepper_sim::outside
