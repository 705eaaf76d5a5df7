#include "tests/outside/simavr/tick_queue.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cstdint>
#include <deque>
#include <vector>

namespace stepper_sim::controller {
namespace {

struct Timed {
    std::uint64_t tick;
    std::uint16_t motors;
    bool operator==(const Timed&) const = default;
};

/// Sends events through the ring, taking entries whenever it is full, and adds the waits up again.
template <std::uint8_t kSize>
std::vector<Timed> through_ring(const std::vector<Timed>& events) {
    TickQueue<kSize> queue;
    std::vector<Timed> out;
    std::uint64_t now = 0, before = 0;
    const auto drain = [&] {
        TimedEvent entry{};
        while (queue.pop(entry)) {
            now += entry.wait_ticks;
            if (entry.motors != 0) out.push_back({now, entry.motors});
        }
    };
    for (const Timed& event : events) {
        std::uint64_t wait = event.tick - before;
        while (!queue.push(wait, event.motors))
            drain();
        before = event.tick;
    }
    drain();
    return out;
}

RC_GTEST_PROP(TickQueue, GivesBackEveryEventAtItsTickHoweverLongTheWait, ()) {
    const auto waits = *rc::gen::container<std::vector<std::uint32_t>>(rc::gen::oneOf(
        rc::gen::inRange<std::uint32_t>(1, 70'000), rc::gen::inRange<std::uint32_t>(1, 3'000'000)));
    std::vector<Timed> events;
    std::uint64_t tick = std::uint64_t{1} << 30;  // the first wait alone takes thousands of entries
    for (const std::uint32_t wait : waits) {
        tick += wait;
        events.push_back({tick, static_cast<std::uint16_t>(1 + wait % 15)});
    }
    RC_ASSERT(through_ring<16>(events) == events);
}

TEST(TickQueue, HoldsItsSizeAndNoMore) {
    TickQueue<4> queue;
    EXPECT_TRUE(queue.empty());
    for (int i = 0; i < 4; ++i)
        EXPECT_TRUE(queue.push(TimedEvent{1, 1}));
    EXPECT_TRUE(queue.full());
    EXPECT_FALSE(queue.push(TimedEvent{1, 1}));
}

TEST(TickQueue, NoPieceOfACutWaitIsTooShortForATimer) {
    for (std::uint64_t wait = 65'000; wait < 200'000; wait += 7) {
        TickQueue<16> queue;
        std::uint64_t left = wait;
        ASSERT_TRUE(queue.push(left, 1));
        TimedEvent entry{};
        while (queue.pop(entry))
            ASSERT_GE(entry.wait_ticks, 0x7FFF);
    }
}

TEST(TickQueue, AWaitBeyond32BitsIsNoSpecialCase) {
    const std::uint64_t a_minute_at_1_GHz = 60'000'000'000;
    const std::vector<Timed> events{{a_minute_at_1_GHz, 5}, {a_minute_at_1_GHz + 1, 2}};
    EXPECT_EQ(through_ring<128>(events), events);
}

}  // namespace
}  // namespace stepper_sim::controller
