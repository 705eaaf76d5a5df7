/// Use of something that is limited: asked over available, bounded so that it can always be printed.
#pragma once

#include <algorithm>

namespace stepper_sim::run {

/// What is asked of nothing counts as this many times too much.
inline constexpr double kMaxUse = 1000.0;

constexpr double use_of(double asked, double available) {
    if (asked <= 0.0) return 0.0;
    return available > 0.0 && asked < kMaxUse * available ? asked / available : kMaxUse;
}

/// Use of the low and of the high edge of a torque band at one moment; high <= low.
struct BandUse {
    double low = 0.0, high = 0.0;

    bool too_much() const { return high > 1.0; }  // even of the high edge: a fault
    /// A fault before all else, or the low edge's uses, which end at kMaxUse, would hide it.
    bool worse_than(const BandUse& other) const {
        if (too_much() != other.too_much()) return too_much();
        return low > other.low || (low == other.low && high > other.high);
    }
    /// What uses less than this of the low edge cannot be worse.
    double surely_worse_than() const { return too_much() ? low : std::min(low, 1.0); }
};

}  // namespace stepper_sim::run
