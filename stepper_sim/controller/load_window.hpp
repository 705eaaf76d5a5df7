/// Processor load over sliding windows. Bounded memory: at most kMostEvents interrupts are kept, so at extreme rates the window
/// is shorter.
/// Model:   the fewest whole intervals between interrupts that last at least the window, up to each interrupt
/// Formula: load = (work of all interrupts after the first one of the window) / (last tick - first tick); the peak is the largest
/// Symbols: work in fine ticks (processor_cost.hpp), so the load is in fine ticks per tick
/// Valid:   a steady rate gives exactly cost times rate, and not one event more or less
/// Source:  derived here; Guess: a millisecond is as short as an overload hurts
/// Checked by: LoadWindow.PeakIsThatOfTheFullestWindow, LoadWindow.KeptForLaterIsAsIfKeptAtOnce
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "stepper_sim/controller/style.hpp"

namespace stepper_sim::controller {

inline constexpr double kLoadWindow_s = 1e-3;

class LoadWindow {
  public:
    explicit LoadWindow(std::int64_t window_ticks) : window_(window_ticks), ring_(kMostEvents) {}

    /// Largest work per tick of any window so far.
    double peak() const { return peak_; }

    /// An interrupt at `tick` that takes `work` > 0. Returns whether the window that ends with it is
    /// the fullest so far.
    bool add(std::int64_t tick, std::int64_t work) {
        const std::int64_t spacing = tick - newest_;
        if (stays_below_peak(tick, spacing, work)) {
            keep(tick, work);
            return false;
        }
        work_out_later();
        enter(tick, work);
        while (read_ + 1 < write_ && tick - ring_[(read_ + 1) & kMask].tick >= window_)
            ++read_;
        const Entry& first = ring_[read_ & kMask];
        const std::int64_t span = tick - first.tick;
        const bool full = span >= window_ || write_ - read_ == kMostEvents;
        const bool fullest = full && exceeds_peak(total_ - first.total, span);
        if (fullest) {
            peak_ = static_cast<double>(total_ - first.total) / static_cast<double>(span);
        }
        if (exceeds_peak(work, spacing)) hot_until_ = tick;
        return fullest;
    }

    /// Whether no interrupt from `tick` on can end a fullest window, if each takes at most `work`
    /// and they are at least `spacing` apart: a window's load is a mean of its intervals' loads.
    bool stays_below_peak(std::int64_t tick, std::int64_t spacing, std::int64_t work) const {
        return !exceeds_peak(work, spacing) && tick - hot_until_ >= window_;
    }
    /// Takes such an interrupt without looking at its window.
    void keep(std::int64_t tick, std::int64_t work) {
        if (later_read_ == later_write_) {
            enter(tick, work);
        } else {
            put_off(tick, work).shares = 0;
        }
    }
    /// Takes several such, in time order.
    void keep(std::span<const StepEvent> events, std::int64_t work);
    /// Takes the interrupts of the rest of a move, `work` each, which all are such. Their ticks are
    /// worked out only if a window is looked at while they may still matter.
    void keep_later(const RestOfMove& rest, std::int64_t work);

  private:
    struct Entry {
        std::int64_t tick, total;
    };
    /// The rest of a move as RestOfMove tells it; a single interrupt after such where `shares` is 0.
    struct Later {
        std::int64_t last_tick = 0, work = 0;
        std::int64_t spacing = 0;
        std::uint64_t next = 0, shares = 0;
        double share_m = 0.0;
        StepClock clock;
    };
    static constexpr std::int64_t kLongAgo = INT64_MIN / 4;
    static constexpr std::uint64_t kMostEvents = 1U << 12;
    static constexpr std::uint64_t kMask = kMostEvents - 1;
    static constexpr std::uint64_t kMostLater = 16;  // short moves in a window, and what is between

    // A quotient of the same value rounds the same way: what equals the peak never exceeds it.
    bool exceeds_peak(std::int64_t work, std::int64_t ticks) const {
        return static_cast<double>(work) / static_cast<double>(ticks) > peak_;
    }
    void enter(std::int64_t tick, std::int64_t work) {
        total_ += work;
        if (write_ - read_ == kMostEvents) ++read_;
        ring_[write_ & kMask] = {tick, total_};
        ++write_;
        newest_ = tick;
    }
    Later& put_off(std::int64_t last_tick, std::int64_t work);
    void work_out_later();

    std::int64_t window_;
    std::int64_t total_ = 0;
    std::int64_t newest_ = kLongAgo;
    std::int64_t hot_until_ = kLongAgo;  // end of the last interval fuller than the peak
    double peak_ = 0.0;
    std::uint64_t read_ = 0, write_ = 0;
    std::vector<Entry> ring_;
    std::array<Later, kMostLater> later_{};  // a ring too
    std::uint64_t later_read_ = 0, later_write_ = 0;
};

}  // namespace stepper_sim::controller
