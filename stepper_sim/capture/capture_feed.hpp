/// Hands the changes of a trace to the trackers of its motors, at equal times direction lines first.
#pragma once

#include <array>
#include <vector>

#include "planner/program/axis_set.hpp"
#include "stepper_sim/capture/capture_lines.hpp"
#include "stepper_sim/capture/capture_motor.hpp"

namespace stepper_sim::capture {

class CaptureFeed {
  public:
    CaptureFeed(TraceReader& reader, const machine::Machine& machine,
                std::vector<MotorLines> motors, std::int64_t resolution_ps);

    /// Reads the next piece; false when the trace is over.
    bool read();
    bool over() const { return over_; }
    /// Up to here everything was handed on.
    std::int64_t time_ps() const { return time_ps_; }
    std::int64_t first_edge_ps() const { return first_edge_ps_; }
    std::int64_t end_ps() const { return reader_->last_time_ps(); }

    /// New pulses by motor slot; the caller empties them.
    std::array<std::vector<CapturedPulse>, planner::kMaxAxes> pulses;

    const std::vector<MotorLines>& motors() const { return motors_; }
    const MotorCapture& result(std::size_t i) const { return trackers_[i].result(); }

  private:
    void hand_on(std::size_t count);
    void apply(const LevelChange& change);

    TraceReader* reader_;
    std::vector<MotorLines> motors_;
    std::vector<MotorTracker> trackers_;
    std::vector<bool> inverted_, known_;  // by line
    std::vector<LevelChange> changes_;
    std::int64_t time_ps_ = INT64_MIN, first_edge_ps_ = INT64_MAX;
    bool over_ = false;
};

}  // namespace stepper_sim::capture
