/// Use of something that is limited: asked over available, bounded so that it can always be printed.
#pragma once

namespace stepper_sim {

/// What is asked of nothing counts as this many times too much.
inline constexpr double kMaxUse = 1000.0;

constexpr double use_of(double asked, double available) {
    if (asked <= 0.0) return 0.0;
    return available > 0.0 && asked < kMaxUse * available ? asked / available : kMaxUse;
}

}  // namespace stepper_sim
