#include "stepper_sim/motor/speed_step.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stepper_sim {

namespace {

constexpr int kBisections = 60;

/// The jump possible at torque `torque_Nm` with the demand `asked_Nm`.
double jump_rad_s(double torque_Nm, double asked_Nm, const AvailableTorque& torque,
                  double inertia_kg_m2) {
    if (torque_Nm <= 0.0) return 0.0;
    return speed_step_rad_s(torque_Nm, inertia_kg_m2, torque.constants().rotor_teeth,
                            asked_Nm / torque_Nm);
}

template <class TorqueAt>
double start_rad_s(const TorqueAt& torque_at, double asked_Nm, const AvailableTorque& torque,
                   double inertia_kg_m2) {
    double low = 0.0;
    double high = jump_rad_s(torque_at(0.0), asked_Nm, torque, inertia_kg_m2);
    for (int i = 0; i < kBisections; ++i) {
        const double middle = 0.5 * (low + high);
        (jump_rad_s(torque_at(middle), asked_Nm, torque, inertia_kg_m2) >= middle ? low : high) =
            middle;
    }
    return low;
}

SpeedStepBand band(double low, double nominal, double high) {
    return {planner::from_si<planner::AngularSpeed>(low),
            planner::from_si<planner::AngularSpeed>(nominal),
            planner::from_si<planner::AngularSpeed>(high)};
}

}  // namespace

double natural_rate_rad_s(double torque_Nm, double inertia_kg_m2, int rotor_teeth) {
    return std::sqrt(rotor_teeth * torque_Nm / inertia_kg_m2);
}

double speed_step_rad_s(double torque_Nm, double inertia_kg_m2, int rotor_teeth, double use) {
    const double f = std::clamp(use, 0.0, 1.0);
    const double well = 2.0 * std::sqrt(1.0 - f * f) - f * (std::numbers::pi - 2.0 * std::asin(f));
    return std::sqrt(2.0 * torque_Nm / (inertia_kg_m2 * rotor_teeth) * std::max(0.0, well));
}

double microstep_torque_share(int microsteps) {
    return std::sin(0.5 * std::numbers::pi / microsteps);
}

SpeedStepBand corner_step(const AvailableTorque& torque, const StepDemand& demand,
                          planner::AngularSpeed speed_after) {
    const TorqueBand at = torque.at(speed_after);
    return band(jump_rad_s(at.low.value(), demand.most_Nm, torque, demand.inertia_kg_m2),
                jump_rad_s(at.nominal.value(), demand.nominal_Nm, torque, demand.inertia_kg_m2),
                jump_rad_s(at.high.value(), demand.least_Nm, torque, demand.inertia_kg_m2));
}

SpeedStepBand start_step(const AvailableTorque& torque, const StepDemand& demand) {
    const double J = demand.inertia_kg_m2;
    return band(
        start_rad_s([&](double w) { return torque.low_Nm(w); }, demand.most_Nm, torque, J),
        start_rad_s([&](double w) { return torque.nominal_Nm(w); }, demand.nominal_Nm, torque, J),
        start_rad_s([&](double w) { return torque.high_Nm(w); }, demand.least_Nm, torque, J));
}

}  // namespace stepper_sim
