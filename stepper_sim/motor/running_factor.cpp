#include "stepper_sim/motor/running_factor.hpp"

namespace stepper_sim {

namespace {

constexpr double kSameSpeed =
    0.05;  // back-EMF shares closer than this cannot tell loss from factor

double factor_for(std::span<const MeasuredPoint> points, double emf_loss) {
    double sum = 0.0;
    for (const MeasuredPoint& p : points) {
        sum += p.torque_Nm / p.rounded_Nm / std::max(kSameSpeed, 1.0 - emf_loss * p.emf_share);
    }
    return sum / static_cast<double>(points.size());
}

}  // namespace

MeasuredPoint measured_point(const MotorConstants& motor, double peak_A, double voltage_V,
                             double rate_rad_s, double torque_Nm) {
    return {rounded_torque_Nm(motor, peak_A, voltage_V, rate_rad_s),
            motor.torque_constant_Nm_A * rate_rad_s / voltage_V, torque_Nm};
}

RunningFactor running_factor_from(std::span<const MeasuredPoint> points) {
    if (points.empty()) return {kRunningFactor, kEmfLoss};
    double mean_x = 0.0;
    double mean_y = 0.0;
    for (const MeasuredPoint& p : points) {
        mean_x += p.emf_share / static_cast<double>(points.size());
        mean_y += p.torque_Nm / p.rounded_Nm / static_cast<double>(points.size());
    }
    double sum_xx = 0.0;
    double sum_xy = 0.0;
    for (const MeasuredPoint& p : points) {
        sum_xx += (p.emf_share - mean_x) * (p.emf_share - mean_x);
        sum_xy += (p.emf_share - mean_x) * (p.torque_Nm / p.rounded_Nm - mean_y);
    }
    if (sum_xx < kSameSpeed * kSameSpeed) return {factor_for(points, kEmfLoss), kEmfLoss};
    const double slope = sum_xy / sum_xx;
    const double at_rest = mean_y - slope * mean_x;
    const double loss = at_rest > 0.0 ? std::clamp(-slope / at_rest, 0.0, 1.0) : kEmfLoss;
    return {factor_for(points, loss), loss};
}

}  // namespace stepper_sim
