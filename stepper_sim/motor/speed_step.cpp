#include "stepper_sim/motor/speed_step.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stepper_sim::motor {

double natural_rate_rad_s(double torque_Nm, double inertia_kg_m2, int rotor_teeth) {
    return std::sqrt(rotor_teeth * torque_Nm / inertia_kg_m2);
}

double speed_step_rad_s(double torque_Nm, double inertia_kg_m2, int rotor_teeth, double use) {
    const double f = std::clamp(use, 0.0, 1.0);
    const double well = 2.0 * std::sqrt(1.0 - f * f) - f * (std::numbers::pi - 2.0 * std::asin(f));
    return std::sqrt(2.0 * torque_Nm / (inertia_kg_m2 * rotor_teeth) * std::max(0.0, well));
}

}  // namespace stepper_sim::motor
