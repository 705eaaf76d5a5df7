/// A ring of timed events for a step timer of 16 bits: who steps, and how many ticks after the
/// event before. Freestanding C++14, integers only, one writer and one reader, no locks: the
/// writer is the planner side, the reader the step interrupt. Time is kept as differences, so no
/// counter ever overflows however long the program runs; a wait longer than the timer reaches is
/// cut into entries that step nobody. A reference core for firmware: the program itself does not
/// use it; its tests and the simulated processor do.
#pragma once

// NOLINTBEGIN(modernize-*): C++14, and avr-gcc has neither <cstdint> nor <array>
#include <stdint.h>

namespace stepper_sim {
namespace controller {

struct TimedEvent {
    uint16_t wait_ticks;  // after the event before
    uint16_t motors;      // stepping now, one bit each; 0: only time passes
};

/// `kSize`: a power of two, at most 128.
template <uint8_t kSize>
class TickQueue {
    static_assert(kSize >= 2 && kSize <= 128 && (kSize & (kSize - 1)) == 0,
                  "a power of two, at most 128");

  public:
    /// Longest wait of one entry. Waits are cut in halves of the timer's range, so that the last
    /// piece is never too short to meet.
    static constexpr uint16_t kLongestWait = 0x8000;

    bool empty() const { return read_ == write_; }
    bool full() const { return static_cast<uint8_t>(write_ - read_) == kSize; }

    /// Adds one entry; false when the ring is full.
    bool push(TimedEvent event) {
        const uint8_t at = write_;
        if (static_cast<uint8_t>(at - read_) == kSize) return false;
        ring_[at & (kSize - 1)] = event;
        write_ = static_cast<uint8_t>(at + 1);
        return true;
    }

    /// Adds what fits of an event `wait_ticks` after the one before, and takes what it added off
    /// `wait_ticks`. True once the event itself is in.
    bool push(uint64_t& wait_ticks, uint16_t motors) {
        while (wait_ticks > 0xFFFF) {
            if (!push(TimedEvent{kLongestWait, 0})) return false;
            wait_ticks -= kLongestWait;
        }
        return push(TimedEvent{static_cast<uint16_t>(wait_ticks), motors});
    }

    /// Takes the oldest entry; false when there is none.
    bool pop(TimedEvent& event) {
        const uint8_t at = read_;
        if (at == write_) return false;
        event = ring_[at & (kSize - 1)];
        read_ = static_cast<uint8_t>(at + 1);
        return true;
    }

  private:
    TimedEvent ring_[kSize];
    volatile uint8_t read_ = 0;
    volatile uint8_t write_ = 0;
};

}  // namespace controller
}  // namespace stepper_sim
// NOLINTEND(modernize-*)
