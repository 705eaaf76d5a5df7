#include "tests/stepper_sim/controller/accumulator.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cstdint>
#include <vector>

namespace stepper_sim::controller {
namespace {

RC_GTEST_PROP(Accumulator, StepsEqualTheRoundedSumOfTheIncrements, ()) {
    const auto raw = *rc::gen::container<std::vector<std::uint64_t>>(
        rc::gen::inRange<std::uint64_t>(0, std::uint64_t{3} << 31));
    Accumulator accumulator;
    accumulator.begin();
    std::uint64_t sum = 0, steps = 0;
    for (const std::uint64_t increment : raw) {
        sum += increment;
        if (accumulator.next(static_cast<std::uint16_t>(increment >> 32),
                             static_cast<std::uint32_t>(increment))) {
            ++steps;
        }
        const std::uint64_t due = (sum + (std::uint64_t{1} << 31)) >> 32;
        RC_ASSERT(steps + accumulator.owed() == due);
    }
}

TEST(Accumulator, StepsInTheVeryPeriodInWhichTheHalfIsReached) {
    Accumulator accumulator;
    accumulator.begin();
    EXPECT_FALSE(accumulator.next(0, 0x7FFFFFFF));
    EXPECT_TRUE(accumulator.next(0, 1));
}

TEST(Accumulator, OwesWhatDoesNotFitOneStepPerPeriod) {
    Accumulator accumulator;
    accumulator.begin();
    EXPECT_TRUE(accumulator.next(3, 0));
    EXPECT_EQ(accumulator.owed(), 2);
    EXPECT_TRUE(accumulator.next(0, 0));
    EXPECT_TRUE(accumulator.next(0, 0));
    EXPECT_FALSE(accumulator.next(0, 0));
}

}  // namespace
}  // namespace stepper_sim::controller
