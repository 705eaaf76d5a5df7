/// Processor load over sliding windows: the work of the fewest whole intervals between interrupts
/// that last at least the window. Whole intervals, so that a steady rate gives exactly cost times
/// rate and not one event more or less. Bounded memory: at most kMostEvents interrupts are kept,
/// so at extreme rates the window is shorter.
#pragma once

#include <cstdint>
#include <vector>

namespace stepper_sim {

inline constexpr double kLoadWindow_s = 1e-3;

class LoadWindow {
  public:
    explicit LoadWindow(std::int64_t window_ticks) : window_(window_ticks), ring_(kMostEvents) {}

    std::int64_t window_ticks() const { return window_; }
    /// Largest work per tick of any window so far.
    double peak() const { return peak_; }

    /// An interrupt at `tick` that takes `work`. Returns whether the window that ends with it is
    /// the fullest so far.
    bool add(std::int64_t tick, std::int64_t work) {
        const std::int64_t spacing = write_ > 0 ? tick - newest().tick : 0;
        keep(tick, work);
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
        total_ += work;
        if (write_ - read_ == kMostEvents) ++read_;
        ring_[write_ & kMask] = {tick, total_};
        ++write_;
    }

  private:
    struct Entry {
        std::int64_t tick, total;
    };
    static constexpr std::uint64_t kMostEvents = 1U << 12;
    static constexpr std::uint64_t kMask = kMostEvents - 1;

    const Entry& newest() const { return ring_[(write_ - 1) & kMask]; }
    // A quotient of the same value rounds the same way: what equals the peak never exceeds it.
    bool exceeds_peak(std::int64_t work, std::int64_t ticks) const {
        return static_cast<double>(work) / static_cast<double>(ticks) > peak_;
    }

    std::int64_t window_;
    std::int64_t total_ = 0;
    std::int64_t hot_until_ = INT64_MIN / 4;  // end of the last interval fuller than the peak
    double peak_ = 0.0;
    std::uint64_t read_ = 0, write_ = 0;
    std::vector<Entry> ring_;
};

}  // namespace stepper_sim
