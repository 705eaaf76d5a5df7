#include "stepper_sim/dynamics/speed_jump.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stepper_sim {

double largest_speed_jump_rad_s(double torque_Nm, double inertia_kg_m2, int rotor_teeth,
                                double load_Nm) {
    if (!(torque_Nm > 0.0)) return 0.0;
    const double f = std::clamp(load_Nm / torque_Nm, 0.0, 1.0);
    const double well = 2.0 * std::sqrt(1.0 - f * f) - f * (std::numbers::pi - 2.0 * std::asin(f));
    return std::sqrt(2.0 * torque_Nm / (inertia_kg_m2 * rotor_teeth) * std::max(well, 0.0));
}

double full_steps_per_s(double rate_rad_s, int rotor_teeth) {
    return rate_rad_s * 4.0 * rotor_teeth / (2.0 * std::numbers::pi);
}

}  // namespace stepper_sim
