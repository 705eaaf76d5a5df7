#include "stepper_sim/motor/screw.hpp"

#include <cmath>

namespace stepper_sim {

namespace {

double lead_angle(const ScrewThread& t) {
    return std::atan(t.lead_m / (2.0 * std::numbers::pi * t.mean_radius_m));
}
double friction_angle(const ScrewThread& t) {
    return std::atan(t.friction / std::cos(t.half_angle_rad));
}

}  // namespace

double raising_torque_Nm(const ScrewThread& thread, double force_N) {
    return force_N * (thread.mean_radius_m * std::tan(lead_angle(thread) + friction_angle(thread)) +
                      thread.collar_friction * thread.collar_radius_m);
}

double lowering_torque_Nm(const ScrewThread& thread, double force_N) {
    return force_N * (thread.mean_radius_m * std::tan(friction_angle(thread) - lead_angle(thread)) +
                      thread.collar_friction * thread.collar_radius_m);
}

double screw_efficiency(const ScrewThread& thread) {
    return frictionless_torque_Nm(1.0, thread.lead_m) / raising_torque_Nm(thread, 1.0);
}

}  // namespace stepper_sim
