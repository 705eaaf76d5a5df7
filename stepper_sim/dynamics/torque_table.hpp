/// Torque a motor can make against speed, on an even grid: what the screen looks up millions of
/// times. It does not know where the curve comes from (a published one, a model, a cautious share
/// of either); build it from any callable.
/// Model:   straight lines between grid points; beyond the last speed no torque, so that the screen asks for confirmation
/// Formula: T(w) = T_i + (T_(i+1) - T_i)(x - i), x = |w| cells / top speed; floor(w) = least T of any grid point up to the one past w
/// Symbols: T = torque [N m], w = speed [rad/s], i = whole part of x
/// Valid:   curves whose bends are wider than a cell: 1/512 of the top speed
/// Source:  linear interpolation: textbook
/// Checked by: TorqueTable.MeetsAStraightCurveBetweenGridPoints, TorqueTable.FloorIsBelowEveryTorqueUpToTheSpeed,
///             TorqueTable.MakesNoTorqueBeyondItsLastSpeed
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace stepper_sim::dynamics {

class TorqueTable {
  public:
    /// `torque_Nm(speed in rad/s)` is sampled from standstill to `top_rate_rad_s` (> 0); negative
    /// values count as none.
    template <class TorqueAtSpeed>
    TorqueTable(TorqueAtSpeed&& torque_Nm, double top_rate_rad_s, int cells = kCells)
        : cells_per_rad_s_(cells / top_rate_rad_s) {
        torque_Nm_.reserve(static_cast<std::size_t>(cells) + 1);
        for (int i = 0; i <= cells; ++i)
            torque_Nm_.push_back(std::max(0.0, torque_Nm(i / cells_per_rad_s_)));
        floor_Nm_ = torque_Nm_;
        for (std::size_t i = 1; i < floor_Nm_.size(); ++i)
            floor_Nm_[i] = std::min(floor_Nm_[i], floor_Nm_[i - 1]);
    }

    /// The last speed of the grid.
    double top_rate_rad_s() const {
        return static_cast<double>(torque_Nm_.size() - 1) / cells_per_rad_s_;
    }

    /// Torque at a speed of either sign, linear between grid points [N m].
    double at(double rate_rad_s) const {
        const double x = std::fabs(rate_rad_s) * cells_per_rad_s_;
        const auto last = static_cast<double>(torque_Nm_.size() - 1);
        if (!(x < last)) return x > last ? 0.0 : torque_Nm_.back();
        const auto i = static_cast<std::size_t>(x);
        return torque_Nm_[i] + (torque_Nm_[i + 1] - torque_Nm_[i]) * (x - static_cast<double>(i));
    }

    /// Lowest torque at any speed up to this one: a lower bound over a stretch of speeds [N m].
    double floor(double rate_rad_s) const {
        const double x = std::fabs(rate_rad_s) * cells_per_rad_s_;
        const auto last = static_cast<double>(floor_Nm_.size() - 1);
        if (!(x <= last)) return 0.0;
        const auto below = static_cast<std::size_t>(x);
        return floor_Nm_[below + (x > static_cast<double>(below) ? 1 : 0)];
    }

  private:
    static constexpr int kCells =
        512;  // a pull-out curve has a few bends; finer than any published one

    double cells_per_rad_s_;
    std::vector<double> torque_Nm_, floor_Nm_;
};

}  // namespace stepper_sim::dynamics
