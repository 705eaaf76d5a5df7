#include "stepper_sim/motor/pull_out_curve.hpp"

#include <math.h>  // NOLINT(modernize-deprecated-headers): Boost 1.74's pchip calls the global isnan

#include <algorithm>
#include <boost/math/interpolators/pchip.hpp>
#include <cmath>
#include <cstddef>
#include <utility>

namespace stepper_sim::motor {

namespace {
constexpr std::size_t kCubicPoints = 4;  // Boost's pchip needs four
}

struct PullOutInterpolant::Cubic {
    boost::math::interpolators::pchip<std::vector<double>> function;
};

PullOutInterpolant::PullOutInterpolant(const machine::PullOutCurve& curve) {
    for (const planner::AngularSpeed& speed : curve.speeds)
        rates_rad_s_.push_back(speed.value());
    for (const planner::Torque& torque : curve.torques)
        torques_Nm_.push_back(torque.value());
    if (rates_rad_s_.size() < kCubicPoints) return;
    auto x = rates_rad_s_;
    auto y = torques_Nm_;
    cubic_ = std::make_shared<const Cubic>(Cubic{{std::move(x), std::move(y)}});
}

double PullOutInterpolant::torque_Nm(double rate_rad_s) const {
    const double rate = std::clamp(rate_rad_s, first_rad_s(), last_rad_s());
    if (cubic_) return cubic_->function(rate);
    const auto next = std::upper_bound(rates_rad_s_.begin() + 1, rates_rad_s_.end() - 1, rate);
    const auto i = static_cast<std::size_t>(next - rates_rad_s_.begin());
    const double share = (rate - rates_rad_s_[i - 1]) / (rates_rad_s_[i] - rates_rad_s_[i - 1]);
    return torques_Nm_[i - 1] + share * (torques_Nm_[i] - torques_Nm_[i - 1]);
}

double PullOutInterpolant::gap_spread(double rate_rad_s) const {
    constexpr double kOfFall = 0.6, kMost = 0.9;
    if (rate_rad_s <= first_rad_s() || rate_rad_s >= last_rad_s()) return 0.0;
    const auto next =
        std::upper_bound(rates_rad_s_.begin() + 1, rates_rad_s_.end() - 1, rate_rad_s);
    const auto i = static_cast<std::size_t>(next - rates_rad_s_.begin());
    const double share =
        (rate_rad_s - rates_rad_s_[i - 1]) / (rates_rad_s_[i] - rates_rad_s_[i - 1]);
    const double before_Nm = torques_Nm_[i - 1], after_Nm = torques_Nm_[i];
    if (before_Nm <= 0.0 || after_Nm <= 0.0) return before_Nm == after_Nm ? 0.0 : kMost;
    return std::min(
        kMost, kOfFall * std::fabs(std::log(before_Nm / after_Nm)) * 4.0 * share * (1.0 - share));
}

}  // namespace stepper_sim::motor
