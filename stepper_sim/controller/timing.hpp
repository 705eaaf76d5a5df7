/// What the step lines and the processor went through, with the place of every extreme. Checks
/// compare these with the driver's and the controller's limits; nothing here judges.
#pragma once

#include <cstdint>
#include <limits>

namespace stepper_sim::controller {

/// A smallest or largest value and where it was seen; `line` 0: none seen.
struct Extreme {
    double value = 0.0;
    std::uint64_t line = 0;  // program line
    double time_s = 0.0;     // since the program began
};

/// The smallest of nothing.
inline constexpr double kNoneSeen = std::numeric_limits<double>::infinity();
inline constexpr Extreme kNoSmallest{kNoneSeen, 0, 0.0};

struct MotorTiming {
    std::int64_t steps = 0;                // all of them
    std::int64_t net_steps = 0;            // up less down
    std::int64_t turns = 0;                // changes of direction
    Extreme peak_step_rate_hz;             // commanded speed in steps/s, free of the style's jitter
    Extreme min_interval_s = kNoSmallest;  // rise to rise as emitted, also across a turn
    Extreme min_high_s = kNoSmallest;      // rise to fall
    Extreme min_low_s = kNoSmallest;       // fall to rise
    Extreme min_setup_s = kNoSmallest;     // direction edge to the next rise
    Extreme min_hold_s = kNoSmallest;      // rise to the next direction edge
};

struct ControllerTiming {
    Extreme load_peak;  // share of the processor, over at least 1 ms; above 1: it cannot keep up
    std::uint64_t late_pulses = 0;  // steps that left at least a tick after they fell due
    Extreme lateness_peak_s;
};

}  // namespace stepper_sim::controller
