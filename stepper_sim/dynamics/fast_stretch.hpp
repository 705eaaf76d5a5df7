/// How long a motor has run above its base speed without a break: a swing that grows there is in no linear model.
/// Model:   acceleration constant within a phase, so the speed is above the base speed on one side of a crossing
/// Formula: share of a phase that is fast = max(d0, d1)/|d1 - d0| where d0, d1 differ in sign, else all or nothing
/// Symbols: d0, d1 = |speed| less base speed at the start and the end of the phase [rad/s]
/// Valid:   a phase that turns round between two fast ends counts whole: on the safe side
/// Source:  derived here
/// Checked by: ModalScreen.TimeAboveTheCornerSpeedIsCountedAcrossMoves
#pragma once

#include <algorithm>
#include <cmath>

#include "stepper_sim/dynamics/rate_phase.hpp"

namespace stepper_sim::dynamics {

/// Fed with the phases of one motor in order.
class FastStretch {
  public:
    explicit FastStretch(double base_rate_rad_s) : base_rate_rad_s_(base_rate_rad_s) {}

    void phase(const RatePhase& phase) {
        const double start = std::fabs(phase.start_rate_rad_s) - base_rate_rad_s_;
        const double end = std::fabs(phase.end_rate_rad_s()) - base_rate_rad_s_;
        if (start <= 0.0) stretch_s_ = 0.0;
        if (start <= 0.0 && end <= 0.0) return;
        const double share =
            start > 0.0 && end > 0.0 ? 1.0 : std::max(start, end) / std::fabs(end - start);
        stretch_s_ += share * phase.duration_s;
        longest_s_ = std::max(longest_s_, stretch_s_);
        if (end <= 0.0) stretch_s_ = 0.0;
    }

    /// Longest since the last call, from moves before on [s].
    double end_move() {
        const double longest_s = longest_s_;
        longest_s_ = 0.0;
        return longest_s;
    }

  private:
    double base_rate_rad_s_;
    double stretch_s_ = 0.0, longest_s_ = 0.0;
};

}  // namespace stepper_sim::dynamics
