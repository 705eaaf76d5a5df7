// The documented error bound of each style, held against the exact moment of every step.
#include "stepper_sim/controller/style.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

#include "planner/profile/motion.hpp"
#include "stepper_sim/controller/step_clock.hpp"
#include "tests/stepper_sim/controller/accumulator.hpp"
#include "tests/stepper_sim/controller/example.hpp"

namespace stepper_sim::controller {
namespace {

using testing::example_machine;

/// Rises of each motor, in ticks, as planned by the style alone.
std::vector<std::vector<std::int64_t>> planned_steps(Style& style,
                                                     std::span<const planner::MotorMove> moves) {
    std::vector<std::vector<std::int64_t>> ticks(testing::kMotors);
    std::vector<StepEvent> events(64);
    const auto drain = [&] {
        while (const std::size_t count = style.events(events)) {
            for (std::size_t i = 0; i < count; ++i) {
                for (std::size_t m = 0; m < ticks.size(); ++m) {
                    if ((unsigned{events[i].motors} >> m & 1U) != 0)
                        ticks[m].push_back(events[i].tick);
                }
            }
        }
    };
    for (const planner::MotorMove& move : moves) {
        style.begin(move);
        drain();
    }
    style.finish();
    drain();
    return ticks;
}

/// One planned move of up to 10 mm on all axes, from rest to rest.
std::vector<planner::MotorMove> single_move() {
    const auto part = [] { return *rc::gen::inRange(-1000, 1001) * 1e-3; };
    const planner::AxisArray end_m{part() * 0.01, part() * 0.01, part() * 0.001};
    return testing::plan({{}, end_m}, *rc::gen::inRange(10, 200) * 1e-3);
}

RC_GTEST_PROP(Line, MinorStepsLieWithinOneMajorIntervalOfTheirEvenPlace, ()) {
    const auto moves = single_move();
    RC_PRE(!moves.empty());
    const machine::Machine machine = example_machine(machine::ControllerStyle::line);
    const auto style = make_style(machine);
    const auto ticks = planned_steps(*style, moves);
    const auto& major = *std::max_element(ticks.begin(), ticks.end(),
                                          [](auto& a, auto& b) { return a.size() < b.size(); });
    StepClock clock(moves[0], machine.controller.tick_hz);
    for (const auto& minor : ticks) {
        for (std::size_t j = 0; j < minor.size(); ++j) {
            const double even_m = moves[0].length_m * (static_cast<double>(j) + 0.5) /
                                  static_cast<double>(minor.size());
            const auto at = std::lower_bound(major.begin(), major.end(), minor[j]);
            RC_ASSERT(at != major.end() && *at == minor[j]);
            std::int64_t interval = 0;
            if (at != major.begin()) interval = *at - *(at - 1);
            if (at + 1 != major.end()) interval = std::max(interval, *(at + 1) - *at);
            // One tick for the two roundings.
            RC_ASSERT(std::abs(minor[j] - clock.tick_at(even_m)) <= interval + 1);
        }
    }
}

RC_GTEST_PROP(FixedRate, StepsLeaveWithinOnePeriodAfterTheyFallDue, ()) {
    const auto moves = single_move();
    RC_PRE(!moves.empty());
    machine::Machine machine = example_machine(machine::ControllerStyle::fixed_rate);
    machine.controller.accumulator_bits = *rc::gen::inRange(16, 33);
    const auto style = make_style(machine);
    const auto ticks = planned_steps(*style, moves);
    StepClock exact(moves[0], kIdealTick_hz);
    const double period_s = 1.0 / static_cast<double>(machine.controller.base_rate_hz);
    const double step_s = std::ldexp(1.0, -machine.controller.accumulator_bits);
    for (const auto& motor : ticks) {
        for (std::size_t j = 0; j < motor.size(); ++j) {
            // The accumulator rounds to its unit: a step may fall due half a unit early.
            const double due_m = moves[0].length_m * (static_cast<double>(j) + 0.5 - step_s / 2) /
                                 static_cast<double>(motor.size());
            const double due_s =
                static_cast<double>(exact.tick_at(due_m)) / static_cast<double>(kIdealTick_hz);
            const double left_s =
                static_cast<double>(motor[j]) / static_cast<double>(machine.controller.tick_hz);
            RC_ASSERT(left_s >= due_s - 1e-12);
            RC_ASSERT(left_s <= due_s + period_s + 1e-12);
        }
    }
}

RC_GTEST_PROP(FixedRate, ClosedFormStepsAreTheAccumulatorsSteps, ()) {
    const auto moves = single_move();
    RC_PRE(!moves.empty());
    machine::Machine machine = example_machine(machine::ControllerStyle::fixed_rate);
    machine.controller.base_rate_hz = 10'000;  // the busiest motors owe steps here
    machine.controller.accumulator_bits = 16;
    const auto style = make_style(machine);
    const auto ticks = planned_steps(*style, moves);
    const std::int64_t ticks_per_period = machine.controller.tick_hz / 10'000;
    const double unit = 65536.0;
    for (const auto& motor : ticks) {
        Accumulator accumulator;
        accumulator.begin();
        std::int64_t before = 0;
        std::size_t j = 0;
        for (std::int64_t period = 0; j < motor.size(); ++period) {
            RC_ASSERT(period <= motor.back() / ticks_per_period);
            const double time_s = static_cast<double>(period) / 10'000.0;
            const double position = planner::distance_at(moves[0].profile, time_s) /
                                    moves[0].length_m * static_cast<double>(motor.size());
            const std::int64_t now = std::llround(position * unit);
            const auto whole = static_cast<std::uint16_t>((now - before) >> 16);
            const auto fraction = static_cast<std::uint32_t>((now - before) & 0xFFFF) << 16;
            const bool stepped = accumulator.next(whole, fraction);
            before = now;
            // Where the last bit of a double decides the rounding, either period is right.
            const double doubtful = std::abs(position * unit - std::floor(position * unit) - 0.5);
            if (doubtful < 1e-6) RC_DISCARD("on the rounding point");
            RC_ASSERT(stepped == (motor[j] == period * ticks_per_period));
            if (stepped) ++j;
        }
    }
}

RC_GTEST_PROP(Scheduled, StepsLieWithinHalfATickOfTheIdealOnes, ()) {
    const auto moves = testing::random_program(*rc::gen::arbitrary<std::uint32_t>(), 20);
    const auto ideal = make_style(example_machine(machine::ControllerStyle::ideal));
    const auto scheduled = make_style(example_machine(machine::ControllerStyle::scheduled));
    const auto exact = planned_steps(*ideal, moves);
    const auto rounded = planned_steps(*scheduled, moves);
    const std::int64_t ratio = kIdealTick_hz / scheduled->tick_hz();
    for (std::size_t m = 0; m < exact.size(); ++m) {
        RC_ASSERT(exact[m].size() == rounded[m].size());
        for (std::size_t j = 0; j < exact[m].size(); ++j) {
            // Plus the ideal tick's own half.
            RC_ASSERT(2 * std::abs(exact[m][j] - rounded[m][j] * ratio) <= ratio + 2);
        }
    }
}

RC_GTEST_PROP(Line, EventsDoNotDependOnHowTheyAreAskedFor, ()) {
    const auto moves = testing::random_program(*rc::gen::arbitrary<std::uint32_t>(), 10, 0.2);
    machine::Machine machine = example_machine(machine::ControllerStyle::line);
    machine.controller.clock_hz = 4'000'000;
    machine.controller.max_steps_per_interrupt = 8;
    const auto listed = [&](std::size_t at_once) {
        const auto style = make_style(machine);
        std::vector<StepEvent> all, part(at_once);
        for (const planner::MotorMove& move : moves) {
            style->begin(move);
            while (const std::size_t count = style->events(part)) {
                all.insert(all.end(), part.begin(),
                           part.begin() + static_cast<std::ptrdiff_t>(count));
            }
        }
        return all;
    };
    const auto few = listed(3), many = listed(1000);
    RC_ASSERT(few.size() == many.size());
    for (std::size_t i = 0; i < few.size(); ++i) {
        RC_ASSERT(few[i].tick == many[i].tick);
        RC_ASSERT(few[i].motors == many[i].motors);
        RC_ASSERT(few[i].batch == many[i].batch);
    }
}

TEST(Line, SharesAnInterruptOnlyAboveTheSingleStepCeiling) {
    machine::Machine machine = example_machine(machine::ControllerStyle::line);
    machine.controller.clock_hz = 1'000'000;  // 30 cycles for one motor: 33.3 kHz
    machine.controller.max_steps_per_interrupt = 4;
    const auto batches = [&](double rate_hz) {
        const auto style = make_style(machine);
        const planner::MotorMove move = testing::steady_move(machine, {400.0}, rate_hz);
        style->begin(move);
        std::vector<StepEvent> events(400);
        EXPECT_EQ(style->events(events), 400U);
        int interrupts = 0;
        for (const StepEvent& event : events)
            interrupts += event.batch > 0 ? 1 : 0;
        return interrupts;
    };
    EXPECT_EQ(batches(30'000.0), 400);
    EXPECT_EQ(batches(35'000.0), 200);  // two steps take 50 cycles: 40 kHz
    EXPECT_EQ(batches(42'000.0), 100);  // four take 90: 44.4 kHz
    EXPECT_EQ(batches(90'000.0), 100);  // no number is enough: the most
}

TEST(FixedRate, TicksOfLatePeriodsDoNotOverflow) {
    // Ten hours in, at a 1 GHz tick.
    machine::Machine machine = example_machine(machine::ControllerStyle::fixed_rate);
    machine.controller.tick_hz = 1'000'000'000;
    machine.controller.base_rate_hz = 30'000;
    planner::MotorMove move = testing::steady_move(machine, {3.0}, 1000.0);
    move.start.whole_s = 36'000;
    const auto style = make_style(machine);
    const auto ticks = planned_steps(*style, std::span(&move, 1));
    EXPECT_EQ(ticks[0].front(), 36'000'000'000'000 + 15 * 1'000'000'000LL / 30'000);
}

}  // namespace
}  // namespace stepper_sim::controller
