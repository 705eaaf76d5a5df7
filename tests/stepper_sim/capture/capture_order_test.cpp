// Steps counted in place, and paired by their order alone.
#include "stepper_sim/capture/capture_order.hpp"

#include <gtest/gtest.h>

namespace {

using namespace stepper_sim;

constexpr std::int64_t kUs = 1'000'000;  // picoseconds

TEST(CaptureAgree, CountsPulsesInPlaceByDirectionAndWhatBothSidesHave) {
    std::deque<capture::PlannedPulse> plan;
    std::vector<capture::CapturedPulse> seen;
    for (int i = 0; i < 100; ++i) {
        plan.push_back({i * 400 * kUs, 1, 1});
        seen.push_back(
            {(i * 400 + (i < 10 ? 60 : 40)) * kUs, i < 30 ? std::int8_t{-1} : std::int8_t{1}});
    }
    seen.resize(80);
    const capture::Agreement agreed = capture::agreement(plan, seen, {}, 0, 89 * 400 * kUs, 10'000);
    EXPECT_EQ(agreed.same, 50U);
    EXPECT_EQ(agreed.opposite, 20U);  // the first ten are off by more than an eighth
    EXPECT_EQ(agreed.asked, 80U);
    EXPECT_EQ(agreed.planned, 90U);
    EXPECT_DOUBLE_EQ(agreed.share(), 70.0 / 90.0);
}

/// X to and fro, Y forth with every second stroke; the trace is twice as slow.
struct Strokes {
    capture::PlannedSteps plan;
    capture::SeenSteps seen;

    void step(std::size_t motor, std::int64_t time_us, int way) {
        const auto direction = static_cast<std::int8_t>(way);
        plan[motor].push_back({time_us * kUs, 1, direction});
        seen[motor].push_back({2 * time_us * kUs, direction});
    }
    Strokes() {
        std::int64_t now_us = 0;
        for (int stroke = 0; stroke < 10; ++stroke)
            for (int i = 0; i < 100; ++i, now_us += 100) {
                step(0, now_us, stroke % 2 == 0 ? 1 : -1);
                if (stroke % 2 == 1) step(1, now_us + 50, 1);
            }
    }
    std::optional<std::vector<capture::OrderedStep>> ordered() const {
        return capture::in_same_order(plan, seen, {0, 1});
    }
};

TEST(StepOrder, StepsAtOtherTimesArePairedOneByOne) {
    const Strokes strokes;
    const auto steps = strokes.ordered();
    ASSERT_TRUE(steps);
    EXPECT_EQ(steps->size(), 1500U);
    for (const capture::OrderedStep& step : *steps)
        EXPECT_EQ(step.seen_ps, 2 * strokes.plan[step.motor][step.planned].time_ps);
}

TEST(StepOrder, ALostStepShiftsItsStrokeAndNoOther) {
    Strokes strokes;
    strokes.seen[0].erase(strokes.seen[0].begin() + 350);
    const auto steps = strokes.ordered();
    ASSERT_TRUE(steps);
    EXPECT_EQ(steps->size(), 1499U);
    for (const capture::OrderedStep& step : *steps) {
        const bool shifted = step.motor == 0 && step.planned >= 350 && step.planned < 400;
        EXPECT_EQ(step.seen_ps != 2 * strokes.plan[step.motor][step.planned].time_ps, shifted);
    }
}

TEST(StepOrder, OtherStrokesAreAnotherOrder) {
    Strokes strokes;
    for (std::size_t i = 400; i < 500; ++i)
        strokes.seen[0][i].direction = -1;
    EXPECT_FALSE(strokes.ordered());
}

TEST(StepOrder, MoreThanOneInAHundredLostIsAnotherOrder) {
    Strokes strokes;
    auto& seen = strokes.seen[0];
    for (std::size_t stroke = 10; stroke-- > 0;)
        seen.erase(seen.begin() + static_cast<std::ptrdiff_t>(100 * stroke + 50),
                   seen.begin() + static_cast<std::ptrdiff_t>(100 * stroke + 53));
    EXPECT_FALSE(strokes.ordered());
}

// The same steps of each motor, but Y makes its own with the other strokes of X.
TEST(StepOrder, MotorsThatMeetElsewhereAreAnotherOrder) {
    Strokes strokes;
    for (capture::CapturedPulse& pulse : strokes.seen[1])
        pulse.time_ps -= 2 * 100 * 100 * kUs;
    EXPECT_FALSE(strokes.ordered());
}

}  // namespace
