/// What the exports of step and direction lines share: the lines' names, their levels as edges pass,
/// time in decimal units, and a window in time.
/// A line is called by its axis letter in lower case, "_step" or "_dir". A direction line is high
/// when the motor counts up; every trace begins with step lines low and direction lines high.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

#include "planner/program/axis_set.hpp"
#include "stepper_sim/controller/edge.hpp"

namespace stepper_sim::capture {

/// Steps of the motor slots' letters, such as "XYZE".
std::string step_line_name(char letter);
std::string direction_line_name(char letter);

/// Units of a power of ten per second for ticks of `tick_hz`: those that show every tick exactly if
/// nanoseconds or coarser ones do, else the coarsest that keep ticks apart, at least nanoseconds.
std::int64_t decimal_unit_hz(std::int64_t tick_hz);

/// Ticks to units of `unit_hz`, rounded to the nearest, without overflow for any program.
class UnitClock {
  public:
    UnitClock(std::int64_t tick_hz, std::int64_t unit_hz);
    std::int64_t units(std::int64_t tick) const;

  private:
    std::int64_t numerator_, denominator_;
};

/// Levels of all lines as one bit each: step lines first, then direction lines.
class LineLevels {
  public:
    explicit LineLevels(int motors)
        : motors_(motors), levels_(((std::uint32_t{1} << motors) - 1U) << motors) {}

    /// The line an edge is on, from 0.
    int line_of(const controller::Edge& edge) const {
        return edge.kind == controller::EdgeKind::direction ? motors_ + edge.motor : edge.motor;
    }
    static bool level_of(const controller::Edge& edge) {
        return edge.kind == controller::EdgeKind::direction
                   ? edge.direction > 0
                   : edge.kind == controller::EdgeKind::step_rise;
    }
    /// Takes an edge over; returns whether its line changes.
    bool apply(const controller::Edge& edge) {
        const std::uint32_t bit = std::uint32_t{1} << line_of(edge);
        const std::uint32_t before = levels_;
        levels_ = level_of(edge) ? levels_ | bit : levels_ & ~bit;
        return levels_ != before;
    }
    bool level(int line) const { return (levels_ >> line & 1U) != 0; }
    int lines() const { return 2 * motors_; }

  private:
    int motors_;
    std::uint32_t levels_;
};

/// Passes on the pulses that begin from `from_tick` on and before `to_tick`, whole. Direction lines
/// that are low when the window opens are shown turning at its first tick.
class EdgeWindow final : public controller::EdgeSink {
  public:
    EdgeWindow(controller::EdgeSink& next, std::int64_t from_tick, std::int64_t to_tick)
        : next_(next), from_(from_tick), to_(to_tick) {
        before_.fill(1);
    }
    void take(std::span<const controller::Edge> edges) override;

  private:
    void open();

    controller::EdgeSink& next_;
    std::int64_t from_, to_;
    bool open_ = false;
    std::array<std::int8_t, planner::kMaxAxes> before_{};
    std::array<bool, planner::kMaxAxes> high_{};
    std::vector<controller::Edge> batch_;
};

}  // namespace stepper_sim::capture
