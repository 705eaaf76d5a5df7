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

    struct Load {
        std::int64_t work = 0, ticks = 0;  // 0 ticks: the window is not full yet
    };

    /// An interrupt at `tick` that takes `work`. Returns the window that ends with it.
    Load add(std::int64_t tick, std::int64_t work) {
        total_ += work;
        ring_[write_ & kMask] = {tick, total_};
        while (read_ + 1 < write_ && (tick - ring_[(read_ + 1) & kMask].tick >= window_ ||
                                      write_ - read_ >= kMostEvents)) {
            ++read_;
        }
        const Entry& first = ring_[read_ & kMask];
        ++write_;
        const std::int64_t span = tick - first.tick;
        if (span < window_ && write_ - read_ < kMostEvents) return {};
        return {total_ - first.total, span};
    }

  private:
    struct Entry {
        std::int64_t tick, total;
    };
    static constexpr std::uint64_t kMostEvents = 1U << 16;
    static constexpr std::uint64_t kMask = kMostEvents - 1;

    std::int64_t window_;
    std::int64_t total_ = 0;
    std::uint64_t read_ = 0, write_ = 0;
    std::vector<Entry> ring_;
};

}  // namespace stepper_sim
