#include "stepper_sim/controller/load_window.hpp"

#include <algorithm>

namespace stepper_sim::controller {

void LoadWindow::keep(std::span<const StepEvent> events, std::int64_t work) {
    const std::int64_t last_tick = events.back().tick;
    auto first = std::partition_point(events.begin(), events.end(), [&](const StepEvent& event) {
        return last_tick - event.tick >= window_;
    });
    if (first != events.begin()) {
        // A window begins at the last interrupt that is old enough: nothing before that one matters.
        --first;
        later_read_ = later_write_;
    }
    for (; first != events.end(); ++first)
        keep(first->tick, work);
}

void LoadWindow::keep_later(const RestOfMove& rest, std::int64_t work) {
    Later& later = put_off(rest.last_tick, work);
    later.spacing = rest.spacing;
    later.next = rest.next;
    later.shares = rest.shares;
    later.share_m = rest.share_m;
    later.clock = *rest.clock;
}

LoadWindow::Later& LoadWindow::put_off(std::int64_t last_tick, std::int64_t work) {
    // As above.
    while (later_write_ - later_read_ >= 2 &&
           last_tick - later_[(later_read_ + 1) % kMostLater].last_tick >= window_) {
        ++later_read_;
    }
    if (later_write_ - later_read_ == kMostLater) work_out_later();
    Later& later = later_[later_write_++ % kMostLater];
    later.last_tick = last_tick;
    later.work = work;
    newest_ = last_tick;
    return later;
}

void LoadWindow::work_out_later() {
    constexpr std::uint64_t kAtOnce = 64;
    std::array<std::int64_t, kAtOnce> ticks;
    for (; later_read_ != later_write_; ++later_read_) {
        Later& later = later_[later_read_ % kMostLater];
        if (later.shares == 0) {
            enter(later.last_tick, later.work);
            continue;
        }
        const std::uint64_t last = later.shares - 1;
        const auto in_window = static_cast<std::uint64_t>(window_ / later.spacing + 1);
        std::uint64_t at = std::max(later.next, last - std::min(last, in_window));
        while (at < later.shares) {
            const auto some = std::span(ticks).first(std::min(kAtOnce, later.shares - at));
            later.clock.ticks_at_middles(at, later.share_m, some);
            for (const std::int64_t tick : some) {
                enter(tick, later.work);
            }
            at += some.size();
        }
    }
}

}  // namespace stepper_sim::controller
