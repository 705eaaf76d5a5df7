#include "stepper_sim/controller/line_steps.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cstdint>
#include <vector>

namespace stepper_sim::controller {
namespace {

template <class Count>
void expect_closed_form(const Count (&steps)[4]) {
    LineSteps<Count, 4> line;
    line.begin(steps);
    const std::uint64_t events = *std::max_element(steps, steps + 4);
    RC_ASSERT(line.events() == events);
    std::uint64_t done[4] = {};
    for (std::uint64_t k = 1; k <= events; ++k) {
        const std::uint16_t mask = line.next();
        for (unsigned m = 0; m < 4; ++m) {
            const std::uint64_t n = steps[m];
            if (n == 0) {
                RC_ASSERT((mask >> m & 1U) == 0U);
                continue;
            }
            // The j-th step is due at event ceil((j N - floor(N/2)) / n).
            const std::uint64_t due = ((done[m] + 1) * events - events / 2 + n - 1) / n;
            RC_ASSERT((mask >> m & 1U) == (k == due ? 1U : 0U));
            done[m] += mask >> m & 1U;
            if (k == due && (done[m] == 1 || done[m] == n)) {
                Count first = 0, last = 0;
                line.first_and_last_event_of(steps[m], first, last);
                if (done[m] == 1) RC_ASSERT(first == k - 1);
                if (done[m] == n) RC_ASSERT(last == k - 1);
            }
            if (sizeof(Count) < sizeof(std::uint32_t)) continue;  // too narrow for events * steps
            RC_ASSERT(line.steps_before(static_cast<Count>(k), steps[m]) == done[m]);
            if (k == due) RC_ASSERT(line.event_of(static_cast<Count>(done[m]), steps[m]) == k - 1);
        }
    }
    for (unsigned m = 0; m < 4; ++m)
        RC_ASSERT(done[m] == steps[m]);
}

RC_GTEST_PROP(LineSteps, EveryStepFallsOnItsClosedFormEvent, ()) {
    std::uint32_t steps[4];
    for (auto& count : steps)
        count = *rc::gen::inRange<std::uint32_t>(0, 5000);
    expect_closed_form(steps);
}

TEST(LineSteps, SixteenBitsHoldTheLongestMoveTheyCanCount) {
    expect_closed_form<std::uint16_t>({65535, 65534, 1, 0});
    expect_closed_form<std::uint16_t>({32768, 65535, 32767, 43690});
}

TEST(LineSteps, TheBusiestMotorStepsAtEveryEvent) {
    LineSteps<std::uint16_t, 2> line;
    const std::uint16_t steps[2] = {3, 7};
    line.begin(steps);
    for (int k = 0; k < 7; ++k)
        EXPECT_EQ(line.next() & 2U, 2U);
}

TEST(LineSteps, NoStepsMakeNoEvents) {
    LineSteps<std::uint16_t, 2> line;
    const std::uint16_t steps[2] = {0, 0};
    line.begin(steps);
    EXPECT_EQ(line.events(), 0);
}

}  // namespace
}  // namespace stepper_sim::controller
