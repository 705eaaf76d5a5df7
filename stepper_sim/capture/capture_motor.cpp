#include "stepper_sim/capture/capture_motor.hpp"

#include <algorithm>
#include <cmath>

namespace stepper_sim::capture {
namespace {

constexpr std::int64_t kWindow_ps = 10'000'000'000;
constexpr std::int64_t kLeastPulses = 4;
// Guess: square waves share their time equally; more than this is rest at the active level.
constexpr double kMostActive = 0.6;

}  // namespace

bool Shortest::note(std::int64_t value, std::int64_t at, std::int64_t limit) {
    if (value < value_ps) {
        value_ps = value;
        at_ps = at;
    }
    if (value >= limit) return false;
    if (short_ones++ == 0) first_short_ps = at;
    return true;
}

bool MotorCapture::looks_inverted() const {
    const auto whole = static_cast<double>(high_ps) + static_cast<double>(low_ps);
    return pulses() > 1 && static_cast<double>(high_ps) > kMostActive * whole;
}

void MotorTracker::direction_level(Level level, std::int64_t time_ps) {
    const Level before = direction_;
    direction_ = level;
    if (level == Level::unknown) {
        if (direction_known_) ++seen_.unknown_spans;
        return;
    }
    const std::int8_t way = level == Level::high ? 1 : -1;
    if (before != Level::unknown && way != way_) {
        turned_ = time_ps;
        if (last_rise_ != kNever && seen_.hold.note(time_ps - last_rise_, time_ps, limits_.hold_ps))
            wrong_way_ = true;
    }
    direction_known_ = true;
    way_ = way;
}

void MotorTracker::forget_intervals() {
    interval_count_ = 0;
    last_rise_ = last_fall_ = turned_ = kNever;
}

void MotorTracker::step_level(Level level, std::int64_t time_ps,
                              std::vector<CapturedPulse>* pulses) {
    const Level before = step_;
    step_ = level;
    if (before != Level::unknown && last_edge_ != kNever)
        (before == Level::high ? seen_.high_ps : seen_.low_ps) += time_ps - last_edge_;
    if (level == Level::unknown) {
        if (seen_.step_known) {
            ++seen_.unknown_spans;
            unknown_since_ = time_ps;
        }
        forget_intervals();
        return;
    }
    if (before == Level::unknown) {
        if (unknown_since_ != kNever) seen_.unknown_ps += time_ps - unknown_since_;
        unknown_since_ = kNever;
        seen_.step_known = true;
        last_edge_ = kNever;
        return;
    }
    last_edge_ = time_ps;
    if (level == Level::low) {
        if (last_rise_ != kNever && seen_.high.note(time_ps - last_rise_, time_ps, limits_.high_ps))
            swallowed_ = true;
        last_fall_ = time_ps;
        return;
    }
    rise(time_ps);
    if (pulses != nullptr) pulses->push_back({time_ps, way_});
}

void MotorTracker::rise(std::int64_t time_ps) {
    close_step();
    step_open_ = true;
    if (last_fall_ != kNever && seen_.low.note(time_ps - last_fall_, time_ps, limits_.low_ps))
        swallowed_ = true;
    if (turned_ != kNever && seen_.setup.note(time_ps - turned_, time_ps, limits_.setup_ps))
        wrong_way_ = true;
    turned_ = kNever;
    if (direction_ == Level::unknown) ++seen_.blind_pulses;
    if (seen_.pulses() == 0) seen_.first_ps = time_ps;
    seen_.last_ps = time_ps;
    ++(way_ > 0 ? seen_.up : seen_.down);
    if (last_rise_ != kNever) {
        const std::int64_t interval = time_ps - last_rise_;
        seen_.interval.note(interval, time_ps, limits_.interval_ps);
        if (way_ != last_way_) interval_count_ = 0;
        intervals_[0] = intervals_[1];
        intervals_[1] = intervals_[2];
        intervals_[2] = interval;
        if (++interval_count_ >= 3) note_jitter();
    }
    last_way_ = way_;
    last_rise_ = time_ps;
    note_speed(time_ps);
}

void MotorTracker::close_step() {
    if (step_open_) {
        seen_.wrong_way += wrong_way_ ? 1 : 0;
        seen_.swallowed += swallowed_ && !wrong_way_ ? 1 : 0;
    }
    swallowed_ = wrong_way_ = step_open_ = false;
}

void MotorTracker::note_jitter() {
    const auto [least, most] = std::minmax_element(std::begin(intervals_), std::end(intervals_));
    if (*most > 2 * *least) return;
    const std::int64_t twice = 2 * intervals_[1] - intervals_[0] - intervals_[2];
    seen_.jitter.add(std::abs(twice) / 2);
}

void MotorTracker::note_speed(std::int64_t time_ps) {
    const std::int64_t number = time_ps / kWindow_ps;
    if (number != window_.number) {
        end_window();
        window_ = {number, time_ps, time_ps, 0, way_, 0.0};
    }
    if (way_ != window_.way) window_.way = 0;
    ++window_.pulses;
    window_.last_ps = time_ps;
}

void MotorTracker::end_window() {
    if (window_.way == 0 || window_.pulses < kLeastPulses || window_.last_ps <= window_.first_ps) {
        before_ = {};
        return;
    }
    window_.rate_hz = static_cast<double>(window_.pulses - 1) * kPicoseconds_per_s /
                      static_cast<double>(window_.last_ps - window_.first_ps);
    if (window_.rate_hz > seen_.rate_hz.value) seen_.rate_hz = {window_.rate_hz, window_.last_ps};
    if (before_.number != kNever && before_.number + 1 == window_.number &&
        before_.way == window_.way) {
        const double between_s = (window_.middle_ps() - before_.middle_ps()) / kPicoseconds_per_s;
        const double change = std::abs(window_.rate_hz - before_.rate_hz) / between_s;
        if (change > seen_.acceleration_hz_s.value)
            seen_.acceleration_hz_s = {change, window_.first_ps};
    }
    before_ = window_;
}

void MotorTracker::finish() {
    close_step();
    end_window();
    window_ = {};
}

}  // namespace stepper_sim::capture
