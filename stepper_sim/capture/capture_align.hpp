/// Finds where in a plan a trace begins. From the trace's first pulses the most telling stretches of
/// its busiest motor are taken (where intervals change most), and the plan is searched for the same
/// intervals; a place that is found is then confirmed with all the first pulses of all motors. Of
/// equally good places the first is taken.
#pragma once

#include <array>
#include <deque>
#include <optional>
#include <vector>

#include "planner/program/axis_set.hpp"
#include "stepper_sim/capture/capture_clock.hpp"
#include "stepper_sim/capture/capture_match.hpp"

namespace stepper_sim::capture {

/// The first pulses of a trace, by motor slot.
using CaptureHead = std::array<std::vector<CapturedPulse>, planner::kMaxAxes>;
inline constexpr std::size_t kMostHead = 32768;  // pulses of all motors together

class CaptureAligner {
  public:
    /// `captured`: the motor slots that the trace shows.
    CaptureAligner(const CaptureHead& head, std::vector<std::size_t> captured,
                   std::int64_t resolution_ps);

    /// The next planned pulse of a motor, in time order.
    void plan(std::size_t motor, const PlannedPulse& pulse);
    void finish();
    /// A place was found that leaves nothing to wish for, or enough was tried.
    bool done() const { return score_ >= kPerfect || work_ > kMostWork; }

    /// The clock at the place that fits best; nothing when none fits.
    std::optional<CaptureClock> clock() const {
        return score_ >= kLeast ? std::optional(clock_) : std::nullopt;
    }

  private:
    // Guess: a place where two pulses of five are wrong is no place of this trace.
    static constexpr double kPerfect = 1.0, kLeast = 0.6;
    static constexpr std::size_t kWindow = 24;  // intervals of a telling stretch
    static constexpr std::size_t kMostAnchors = 8;
    static constexpr std::size_t kMostKept = 65536;  // planned pulses of a motor
    static constexpr std::size_t kMostWaiting = 65536;
    static constexpr std::uint64_t kMostWork = 200'000'000;  // pulses compared: a few seconds

    struct Waiting {
        std::int64_t plan_ps, trace_ps;  // of one and the same pulse
        double slope;
    };

    void choose_anchors();
    void try_anchors();
    void judge(const Waiting& place);
    double score(const CaptureClock& clock) const;

    const CaptureHead& head_;
    std::vector<std::size_t> captured_;
    std::int64_t resolution_ps_;
    std::size_t motor_ = 0;  // the busiest
    std::size_t window_ = 0;
    std::int64_t head_begin_ps_ = INT64_MAX, head_end_ps_ = INT64_MIN;
    std::vector<std::size_t> anchors_;
    std::array<std::deque<PlannedPulse>, planner::kMaxAxes> plan_;
    std::int64_t plan_now_ps_ = 0;
    std::deque<Waiting> waiting_;
    double score_ = 0.0;
    mutable std::uint64_t work_ = 0;
    CaptureClock clock_;
};

}  // namespace stepper_sim::capture
