/// A published pull-out curve as a function of speed: monotone cubic (PCHIP) between the maker's
/// points, straight lines where there are fewer than four. Nothing outside the points: what happens
/// there is available_torque.hpp's decision.
///
/// Model:   piecewise cubic Hermite, slopes limited so that no hill or dip appears between points
/// Formula: F. N. Fritsch, R. E. Carlson monotone cubic interpolation, as in Boost.Math
///          between two points off by up to 0.6 |ln(T1/T2)| 4 s (1 - s), s = place in the gap, 0 to 1
/// Symbols: speed [rad/s], torque [N m]
/// Valid:   first_rad_s() <= rate <= last_rad_s(); at least two points, speeds increasing
/// Source:  0.6: fitted, the least that holds every point left out of 11 published curves thinned to 2 to 7 points
///          (PullOutInterpolant.ThinnedCurvesHoldWhatIsLeftOut); F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238 (from memory);
///          Boost.Math pchip
/// Checked by: PullOutInterpolant.*
#pragma once

#include <memory>
#include <vector>

#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::motor {

class PullOutInterpolant {
  public:
    explicit PullOutInterpolant(const machine::PullOutCurve& curve);

    double torque_Nm(double rate_rad_s) const;
    /// How far the motor may be off between two points, as a share of the torque: 0 at each of them.
    double gap_spread(double rate_rad_s) const;
    double first_rad_s() const { return rates_rad_s_.front(); }
    double last_rad_s() const { return rates_rad_s_.back(); }
    const std::vector<double>& rates_rad_s() const { return rates_rad_s_; }

  private:
    struct Cubic;
    std::vector<double> rates_rad_s_, torques_Nm_;
    std::shared_ptr<const Cubic> cubic_;  // empty below four points
};

}  // namespace stepper_sim::motor
