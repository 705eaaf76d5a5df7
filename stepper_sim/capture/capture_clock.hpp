/// From a plan's time to a trace's, learned from matched pulses of all motors.
/// Model:   an offset, a constant drift between the two clocks, and what slowly wanders
/// Formula: trace = plan + offset + local + drift (plan - last); local follows each pulse's error by a sixteenth; drift = slope of the
///          least squares line through all
/// Symbols: offset, local [ps], drift = trace clock against the plan's [-], last = plan's time of the pulse learned last [ps]
/// Valid:   drift is known from 32 pulses over 20 ms on; jitter is averaged over about 16 pulses
/// Source:  least squares and exponential smoothing: textbook; the numbers are guesses
/// Checked by: Capture.ADriftingClockIsMeasuredNotAFault, PulseMatcher.SlowPulsesHandedInBitByBitPairAsAllAtOnce
#pragma once

#include <cmath>
#include <cstdint>

#include "stepper_sim/capture/trace_reader.hpp"

namespace stepper_sim::capture {

/// Guess: a controller of the plan's kind may be so far off without anything being wrong, where pulses are rare.
inline constexpr std::int64_t kMostTolerance_ps = 200'000'000;

class CaptureClock {
  public:
    CaptureClock() = default;
    CaptureClock(std::int64_t offset_ps, double slope) : offset_ps_(offset_ps), slope_(slope) {}

    /// Where in the trace a planned time is expected.
    std::int64_t to_trace(std::int64_t plan_ps) const {
        const double correction =
            local_ps_ + slope_ * static_cast<double>(plan_ps - (count_ > 0 ? last_ps_ : 0));
        return plan_ps + offset_ps_ + std::llround(correction);
    }
    void learn(std::int64_t plan_ps, std::int64_t trace_ps);

    double offset_s() const { return static_cast<double>(offset_ps_) / kPicoseconds_per_s; }
    /// Trace clock against the plan's, as a share: 1e-6 is one second gained in a million.
    double drift() const { return slope_; }
    bool drift_known() const { return drift_known_; }

  private:
    // Guess: averages jitter over 16 pulses and follows a clock that wanders within a second.
    static constexpr double kFollow = 1.0 / 16.0;
    static constexpr double kLeastSpan_s = 0.02;
    static constexpr std::uint64_t kLeastCount = 32;

    std::int64_t offset_ps_ = 0, first_ps_ = 0, last_ps_ = 0;
    double slope_ = 0.0;
    double local_ps_ = 0.0;  // trace - plan - offset, at last_ps_
    std::uint64_t count_ = 0;
    bool drift_known_ = false;
    double sum_x_ = 0.0, sum_y_ = 0.0, sum_xx_ = 0.0, sum_xy_ = 0.0;  // seconds, picoseconds
};

inline void CaptureClock::learn(std::int64_t plan_ps, std::int64_t trace_ps) {
    const auto y_ps = static_cast<double>(trace_ps - plan_ps - offset_ps_);
    if (count_ == 0) {
        first_ps_ = plan_ps;
        local_ps_ = y_ps;
    } else {
        const double expected_ps = local_ps_ + slope_ * static_cast<double>(plan_ps - last_ps_);
        local_ps_ = expected_ps + kFollow * (y_ps - expected_ps);
    }
    last_ps_ = plan_ps;
    const double x_s = static_cast<double>(plan_ps - first_ps_) / kPicoseconds_per_s;
    ++count_;
    sum_x_ += x_s;
    sum_y_ += y_ps;
    sum_xx_ += x_s * x_s;
    sum_xy_ += x_s * y_ps;
    if (x_s < kLeastSpan_s || count_ < kLeastCount) return;
    const auto n = static_cast<double>(count_);
    const double spread = n * sum_xx_ - sum_x_ * sum_x_;
    if (spread <= 0.0) return;
    slope_ = (n * sum_xy_ - sum_x_ * sum_y_) / spread / kPicoseconds_per_s;
    drift_known_ = true;
}

}  // namespace stepper_sim::capture
