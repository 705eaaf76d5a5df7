#include "stepper_sim/motor/torque_model.hpp"

#include <algorithm>
#include <cmath>

namespace stepper_sim::motor::detail {

double TorqueModel::plate_Nm(const MotorConstants& motor, const Condition& condition,
                             double rate_rad_s) const {
    const double emf_share = motor.torque_constant_Nm_A * rate_rad_s / condition.voltage_V;
    return running.at(emf_share) *
           rounded_torque_Nm(motor, condition.peak_A, condition.voltage_V, rate_rad_s);
}

double TorqueModel::rate_ratio() const {
    if (here.base_rad_s > 0.0 && published.base_rad_s > 0.0)
        return published.base_rad_s / here.base_rad_s;
    return published.voltage_V / here.voltage_V;
}

double TorqueModel::end_rad_s() const {
    const double loss = std::max(running.emf_loss, kEmfLoss);
    const double plate_end = here.voltage_V / (loss * constants.torque_constant_Nm_A);
    return curve ? std::max(plate_end, 1.05 * rate_here(curve->last_rad_s())) : plate_end;
}

Level TorqueModel::at(double rate_rad_s) const {
    if (!from_plate) return curve_at(rate_rad_s);
    const bool beyond = beyond_curve(rate_rad_s);
    const double nominal_Nm = plate_Nm(constants, here, rate_rad_s);
    const double holding_Nm =
        (1.0 + kHoldingTolerance) * constants.torque_constant_Nm_A * here.peak_A;
    const auto [low, high] = plate_shares(rate_rad_s);
    const double high_Nm =
        std::min(high * plate_Nm(stronger, here, rate_rad_s), std::max(holding_Nm, nominal_Nm));
    const double low_Nm = beyond ? 0.0 : low * plate_Nm(weaker, here, rate_rad_s);
    return {low_Nm, nominal_Nm, high_Nm, beyond};
}

std::pair<double, double> TorqueModel::plate_shares(double rate_rad_s) const {
    if (!measured_rad_s || rate_rad_s <= 0.0) return {low_share, high_share};
    // How much of the whole band, in the logarithm: 0 near the speed measured, 1 from kFar on.
    const double away = std::fabs(std::log(rate_rad_s / *measured_rad_s));
    const double near = std::log(kMeasuredNear), far = std::log(kMeasuredFar);
    const double share = std::clamp((away - near) / (far - near), 0.0, 1.0);
    return {kMeasuredNearLow * std::pow(low_share / kMeasuredNearLow, share),
            kMeasuredNearHigh * std::pow(high_share / kMeasuredNearHigh, share)};
}

Level TorqueModel::curve_at(double rate_rad_s) const {
    const double published_rad_s = published_rate(rate_rad_s);
    const double supported_rad_s =
        std::clamp(published_rad_s, curve->first_rad_s(), curve->last_rad_s());
    const double plate_there_Nm = plate_Nm(constants, published, supported_rad_s);
    // Where even the plate's model is spent the curve still counts, scaled by current alone.
    const double scale = plate_there_Nm > 0.0
                             ? plate_Nm(constants, here, rate_rad_s) / plate_there_Nm
                             : std::min(1.0, here.peak_A / published.peak_A);
    const double torque_Nm = curve->torque_Nm(supported_rad_s) * scale;
    if (beyond_curve(rate_rad_s)) return {0.0, torque_Nm, high_share * torque_Nm, true};
    if (published_rad_s >= curve->first_rad_s()) {
        const double gap = curve->gap_spread(published_rad_s);
        return {std::min(low_share, 1.0 - gap) * torque_Nm, torque_Nm,
                std::max(high_share, 1.0 + gap) * torque_Nm, false};
    }
    const double first_rad_s = rate_here(curve->first_rad_s());
    const double first_plate_Nm = plate_Nm(constants, here, first_rad_s);
    const double flat_Nm = curve->torque_Nm(curve->first_rad_s()) *
                           (plate_there_Nm > 0.0 ? first_plate_Nm / plate_there_Nm : scale);
    return {low_share * std::min(flat_Nm, torque_Nm), torque_Nm, high_share * torque_Nm, false};
}

}  // namespace stepper_sim::motor::detail
