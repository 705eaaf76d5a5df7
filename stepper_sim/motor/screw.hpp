/// Torque and efficiency of a screw: from its threads, and back-driving from its efficiency alone.
///
/// Model:   load on an inclined plane wrapped round the screw; thread friction as a friction angle
/// Formula: raising T = F r tan(lambda + phi), lowering T = F r tan(phi - lambda) = -F r tan(lambda
///          - phi); eta = tan(lambda)/tan(lambda + phi); back efficiency from eta alone: eta_back =
///          2 - 1/eta (<= 0: self-locking)
/// Symbols: F = axial force [N], r = mean thread radius [m], tan(lambda) = lead/(2 pi r), tan(phi)
///          = mu/cos(alpha), mu = thread friction, alpha = half thread angle [rad] (0 square, 15
///          deg trapezoidal)
/// Valid:   lambda + phi < 90 deg; eta_back from eta alone is low by 2 tan(phi)^2 (0.02 at friction
///          0.1, whatever the lead); collar friction is an extra T = F mu_c r_c
/// Source:  R. Budynas, K. Nisbett, Shigley's Mechanical Engineering Design, sec. 8-2 (formulas
///          read at amesweb.info); 2 - 1/eta is the ball-screw makers' form (from memory; follows
///          from tan(l+p) + tan(l-p) ~ 2 tan(l))
/// Checked by: ScrewExamples.*, Screw.*
#pragma once

#include <numbers>

namespace stepper_sim {

struct ScrewThread {
    double lead_m = 0.0;
    double mean_radius_m = 0.0;
    double friction = 0.0;  // of the thread
    double half_angle_rad = 0.0;
    double collar_friction = 0.0;  // of a thrust collar, 0: rolling thrust bearing
    double collar_radius_m = 0.0;
};

double raising_torque_Nm(const ScrewThread& thread, double force_N);
/// Torque that must be applied to lower the load; negative where the load drives the screw.
double lowering_torque_Nm(const ScrewThread& thread, double force_N);
/// Work out over work in when raising, collar included.
double screw_efficiency(const ScrewThread& thread);
/// Whether the load stays put with no torque applied.
inline bool self_locking(const ScrewThread& thread) {
    return lowering_torque_Nm(thread, 1.0) >= 0.0;
}

/// Share of the load's work that reaches the motor when the load drives; <= 0: the screw locks and
/// the motor must push.
constexpr double back_efficiency(double raising_efficiency) {
    return 2.0 - 1.0 / raising_efficiency;
}

/// Torque of a force at the nut without friction: F lead/(2 pi).
constexpr double frictionless_torque_Nm(double force_N, double lead_m) {
    return force_N * lead_m / (2.0 * std::numbers::pi);
}

}  // namespace stepper_sim
