/// What the step and direction lines of one motor show in a recorded trace: widths, set-up and hold,
/// intervals, jitter, speed, position. Streams; fixed memory. It knows no plan: capture_match.hpp.
/// A level that is unknown (x or z) is never an edge: what it hides is counted and nothing is
/// measured across it.
/// Model:   jitter is the deviation from the local straight line, which an acceleration does not enter
/// Formula: jitter = |interval - mean of its two neighbours|; speed = whole pulses / their own time; acceleration = difference of the
///          speeds of two windows side by side / time between their middles
/// Symbols: intervals from rise to rise; a window is 10 ms
/// Valid:   jitter: all three of one direction, none twice another; speed: at least four pulses in the window, all in one direction
/// Source:  derived here: differences; Guess: the window
/// Checked by: MotorTracker.JitterIsTheDistanceOfAnIntervalFromTheMeanOfItsNeighbours, MotorTracker.SpeedIsWholeStepsOverTheirOwnTime,
///             MotorTracker.AccelerationIsTheChangeBetweenTwoWindowsSideBySide
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "stepper_sim/capture/duration_histogram.hpp"
#include "stepper_sim/capture/trace_reader.hpp"

namespace stepper_sim::capture {

/// A rise of the step line (of its active level).
struct CapturedPulse {
    std::int64_t time_ps = 0;
    std::int8_t direction = 1;
};

/// The least a driver takes, less what the trace's clock hides; 0: no limit.
struct LineLimits {
    std::int64_t high_ps = 0, low_ps = 0, setup_ps = 0, hold_ps = 0, interval_ps = 0;
};

/// Smallest of a kind of duration, and how often it fell short of its limit.
struct Shortest {
    std::int64_t value_ps = INT64_MAX;  // INT64_MAX: none seen
    std::int64_t at_ps = 0;
    std::int64_t short_ones = 0;
    std::int64_t first_short_ps = 0;

    bool seen() const { return value_ps != INT64_MAX; }
    bool note(std::int64_t value, std::int64_t at, std::int64_t limit);
};

struct Peak {
    double value = 0.0;
    std::int64_t at_ps = 0;
};

struct MotorCapture {
    std::int64_t up = 0, down = 0;  // pulses
    std::int64_t first_ps = 0, last_ps = 0;
    Shortest high, low, interval, setup, hold;
    std::int64_t swallowed = 0, wrong_way = 0;  // steps that the short ones put at risk
    DurationHistogram jitter;
    Peak rate_hz;             // over a window
    Peak acceleration_hz_s;   // change of that rate
    bool step_known = false;  // the step line was low or high at some time
    std::int64_t unknown_spans = 0, unknown_ps = 0;
    std::int64_t blind_pulses = 0;         // while the direction was unknown
    std::int64_t high_ps = 0, low_ps = 0;  // time at each level, from the first edge to the last

    std::int64_t pulses() const { return up + down; }
    std::int64_t net() const { return up - down; }
    /// Steps by which the motor may be off for the short ones: a wrong way counts twice.
    std::int64_t position_at_risk() const { return swallowed + 2 * wrong_way; }
    /// A step line rests at its inactive level; one that is active most of the time is read upside
    /// down.
    bool looks_inverted() const;
};

class MotorTracker {
  public:
    explicit MotorTracker(const LineLimits& limits) : limits_(limits) {}

    /// Levels as the driver sees them: `high` is active, or counting up. In time order; at equal
    /// times the direction first. Pulses are appended to `pulses` where given.
    void direction_level(Level level, std::int64_t time_ps);
    void step_level(Level level, std::int64_t time_ps, std::vector<CapturedPulse>* pulses);
    void finish();

    const MotorCapture& result() const { return seen_; }

  private:
    static constexpr std::int64_t kNever = INT64_MIN;

    void rise(std::int64_t time_ps);
    void close_step();
    void note_jitter();
    void note_speed(std::int64_t time_ps);
    void end_window();
    void forget_intervals();

    LineLimits limits_;
    MotorCapture seen_;
    Level step_ = Level::unknown, direction_ = Level::unknown;
    bool direction_known_ = false;
    std::int8_t way_ = 1, last_way_ = 0;
    std::int64_t last_rise_ = kNever, last_fall_ = kNever, turned_ = kNever,
                 unknown_since_ = kNever;
    std::int64_t last_edge_ = kNever;
    bool step_open_ = false, swallowed_ = false, wrong_way_ = false;  // of the last pulse
    std::array<std::int64_t, 3> intervals_{};
    int interval_count_ = 0;

    struct Window {
        std::int64_t number = kNever, first_ps = 0, last_ps = 0, pulses = 0;
        std::int8_t way = 0;  // 0: both, not a speed
        double rate_hz = 0.0;
        double middle_ps() const {
            return 0.5 * (static_cast<double>(first_ps) + static_cast<double>(last_ps));
        }
    };
    Window window_, before_;
};

}  // namespace stepper_sim::capture
