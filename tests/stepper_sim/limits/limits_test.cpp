// The limits against the checks they come from: what is proposed is clear, what is above is not.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "planner/profile/trapezoid.hpp"
#include "stepper_sim/limits/axis_group.hpp"
#include "stepper_sim/limits/group_search.hpp"
#include "stepper_sim/limits/highest.hpp"
#include "stepper_sim/limits/limits.hpp"
#include "stepper_sim/limits/search_start.hpp"
#include "stepper_sim/run/worst_moves.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kFewRoundings_m = 1e-15;  // of two millimetres

#ifdef STEPPER_SIM_SLOW_BUILD
constexpr bool kSlowBuild = true;  // sanitizers make the motor model several times slower
#else
constexpr bool kSlowBuild = false;
#endif

/// The bench machine with its X axis alone: one search instead of three.
std::string one_axis(const std::string& text = std::string(kBench)) {
    return text.substr(0, text.find("[axes.y]"));
}

limits::Limits limits_of(const machine::Machine& machine, double margin = run::kDefaultMargin,
                         const std::vector<run::ProgramSource>& programs = {}) {
    const auto limits = limits::find_limits({machine, programs, margin});
    for (const planner::Diagnostic& diagnostic : limits.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return limits.value();
}

/// What `check` says: without programs, on the worst-case moves.
check::Verdict checked(const machine::Machine& machine, double margin,
                       const std::vector<run::ProgramSource>& programs = {}) {
    const run::MotorModels models = run::motor_models(machine);
    std::vector<run::ProgramResult> results;
    for (const run::ProgramSource& source :
         programs.empty() ? run::worst_programs(machine, models) : programs) {
        auto result = run::run_program(machine, models, source, {.margin = margin});
        EXPECT_TRUE(result);
        results.push_back(std::move(result).value());
    }
    return check::verdict_of(check::run_checks({machine, models, results, margin}));
}

TEST(Highest, FindsTheEdgeFromEitherSide) {
    for (const double edge : {0.003, 0.9, 1.0, 7.0})
        for (const double start : {0.1, 1.0, 5.0}) {
            const auto found = limits::highest(
                start, 100.0, [&](double x) { return x <= edge; }, limits::kFoundTo, 1e-6);
            ASSERT_TRUE(found);
            EXPECT_LE(*found, edge);
            EXPECT_GT(*found * limits::kFoundTo, edge * (1.0 - 1e-12));
        }
}

TEST(Highest, BetweenOneThatHoldsAndOneThatDoesNotItEndsAtTheEdge) {
    const double found = limits::highest_between(1.0, 3.0, [](double x) { return x <= 2.0; });
    EXPECT_LE(found, 2.0);
    EXPECT_GT(found * limits::kFoundTo, 2.0);
    EXPECT_EQ(limits::highest_between(1.0, 3.0, [](double) { return false; }), 1.0);
}

TEST(Highest, StopsAtTheCapAndAtNothing) {
    EXPECT_EQ(limits::highest(1.0, 3.0, [](double) { return true; }), 3.0);
    EXPECT_EQ(limits::highest(5.0, 3.0, [](double) { return true; }), 3.0);
    EXPECT_FALSE(limits::highest(1.0, 3.0, [](double) { return false; }));
}

TEST(WorstMoves, StayInsideTheTravelAndEndWhereTheNextBegins) {
    for (const auto& [name, hurry] : {std::pair{"tray-printer", 1.0},
                                      {"tray-printer", 4.0},
                                      {"insert-printer", 1.0},
                                      {"insert-printer", 3.0},
                                      {"tag-router", 2.0},
                                      {"label-plotter", 5.0}}) {
        machine::Machine machine = shipped(name);
        for (machine::Axis& axis : machine.axes)
            axis.settings.max_speed *= hurry;
        constexpr double kRounding_m = 1e-9;
        for (const run::ProgramSource& source :
             run::worst_programs(machine, run::motor_models(machine))) {
            const auto& moves = source.moves()->moves;
            for (std::size_t i = 0; i < moves.size(); ++i) {
                if (i > 0) {
                    EXPECT_EQ(moves[i].start_m, moves[i - 1].end_m) << source.name();
                }
                for (std::size_t s = 0; s < machine.axes.size(); ++s) {
                    const machine::Axis& axis = machine.axes[s];
                    if (!axis.travel_min) continue;
                    EXPECT_GE(moves[i].end_m[s], axis.travel_min->value() - kRounding_m);
                    EXPECT_LE(moves[i].end_m[s], axis.travel_max->value() + kRounding_m);
                }
            }
        }
    }
}

TEST(WorstMoves, StrokesTakeTheTimeAskedFor) {
    // 0.1 s from 5 mm/s: up to 55 mm/s and back, mean 30 mm/s.
    EXPECT_DOUBLE_EQ(planner::length_in(0.1, 0.005, 1.0, 1.0), 0.003);
    // Held at 30 mm/s from 25 ms on: two ramps of 0.4375 mm and 50 ms of cruise.
    EXPECT_NEAR(planner::length_in(0.1, 0.005, 0.030, 1.0), 2 * 0.0004375 + 0.0015,
                kFewRoundings_m);
}

/// The plotter's X axis alone: torque and resonance bind it, no instability.
machine::Machine calm_axis() {
    machine::Machine machine = shipped("label-plotter");
    machine.axes.resize(1);
    machine.program.axes = planner::AxisSet("X");
    return machine;
}

/// With the values found it is clear, and a step more of any of them is not; where something binds that a setting cannot be judged by, it is
/// left out.
void expect_edge(const machine::Machine& machine, const limits::Limits& limits) {
    EXPECT_EQ(checked(limits::with_margin(machine, limits), limits.margin), check::Verdict::clear);
    const machine::Machine just = limits::just_holding(machine, limits);
    EXPECT_EQ(checked(just, 0.0), check::Verdict::clear);
    const limits::AxisLimits& axis = limits.axes[0];
    const auto raise = [](auto& value) {
        value = std::decay_t<decltype(value)>::from_value(limits::next_setting(value.value()));
    };
    for (int setting = 0; setting < (axis.step ? 3 : 2); ++setting) {
        machine::Machine above = just;
        machine::AxisSettings& settings = above.axes[0].settings;
        const limits::SettingLimit& limit = setting == 0   ? axis.speed
                                            : setting == 1 ? axis.acceleration
                                                           : *axis.step;
        if (limit.binds == run::Binding::travel || limit.binds == run::Binding::top_speed) continue;
        if (setting == 0) raise(settings.max_speed);
        if (setting == 1) raise(settings.max_acceleration);
        if (setting == 2) raise(settings.speed_step);
        EXPECT_NE(checked(above, 0.0), check::Verdict::clear) << setting << " " << limit.why;
    }
}

TEST(Limits, ProposedIsClearAndAboveJustHoldsIsNot) {
    const machine::Machine machine = calm_axis();
    const limits::Limits limits = limits_of(machine);
    ASSERT_TRUE(limits.clear) << limits.why_not_clear;
    expect_edge(machine, limits);
}

// Searched one after the other, the settings leave room where slips come and go with them.
TEST(Limits, AboveWhatJustHoldsIsRefusedWhereAnInstabilityBindsToo) {
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    machine::Machine machine = shipped("tag-router");
    machine.axes.resize(1);
    machine.program.axes = planner::AxisSet("X");
    const limits::Limits limits = limits_of(machine);
    ASSERT_EQ(limits.axes[0].speed.binds, run::Binding::instability);
    expect_edge(machine, limits);
}

struct Start {
    const char* name;
    double speed, acceleration, step;  // times those of the file; of every other axis one over it
    bool alternate = false;
};

constexpr Start kStarts[]{
    {"slow", 0.2, 0.2, 0.2}, {"fast", 3.0, 3.0, 3.0}, {"mixed", 3.0, 0.2, 5.0, true}};

machine::Machine set_to(machine::Machine machine, const Start& start) {
    bool upside_down = false;
    for (machine::Axis& axis : machine.axes) {
        const auto times = [&](double scale) { return upside_down ? 1.0 / scale : scale; };
        axis.settings.max_speed *= times(start.speed);
        axis.settings.max_acceleration *= times(start.acceleration);
        axis.settings.speed_step *= times(start.step);
        upside_down = start.alternate && !upside_down;
    }
    return machine;
}

void expect_equal(const limits::SettingLimit& one, const limits::SettingLimit& two) {
    EXPECT_EQ(one.just_holds, two.just_holds);
    EXPECT_EQ(one.with_margin, two.with_margin);
    EXPECT_EQ(one.binds, two.binds);
    EXPECT_EQ(one.why, two.why);
    EXPECT_EQ(one.why_with_margin, two.why_with_margin);
}

/// In all but the present values.
void expect_equal(const limits::Limits& one, const limits::Limits& two) {
    EXPECT_EQ(one.clear, two.clear);
    EXPECT_EQ(one.why_not_clear, two.why_not_clear);
    ASSERT_EQ(one.axes.size(), two.axes.size());
    for (std::size_t i = 0; i < one.axes.size(); ++i) {
        const limits::AxisLimits &a = one.axes[i], &b = two.axes[i];
        SCOPED_TRACE(a.letter);
        EXPECT_EQ(a.why_not, b.why_not);
        expect_equal(a.speed, b.speed);
        expect_equal(a.acceleration, b.acceleration);
        ASSERT_EQ(a.step.has_value(), b.step.has_value());
        if (a.step) expect_equal(*a.step, *b.step);
    }
}

/// The tray printer with other settings.
constexpr std::string_view kHurried = "tray-printer-hurried";
constexpr const char* kShipped[]{"tray-printer", kHurried.data(), "insert-printer", "tag-router",
                                 "label-plotter"};

TEST(Limits, AreTheSameWhateverTheSettingsAreNow) {
    if (kSlowBuild) GTEST_SKIP() << "takes minutes here";
    std::size_t next = 0;  // one start a machine: all starts of all machines take minutes
    for (const char* name : kShipped) {
        if (name == kHurried) continue;  // another start of the same machine
        machine::Machine machine = shipped(name);
        // The first axis, or both of crossed belts: corners and the others are the next test's.
        machine.axes.resize(machine.kinematics == planner::Kinematics::crossed_belt ? 2 : 1);
        machine.program.axes = planner::AxisSet(machine.axes.size() == 2 ? "XY" : "X");
        const limits::Limits limits = limits_of(machine);
        EXPECT_TRUE(limits.clear) << limits.why_not_clear;
        const Start& start = kStarts[next++ % std::size(kStarts)];
        SCOPED_TRACE(std::string(name) + ", " + start.name);
        const machine::Machine begun = set_to(machine, start);
        const limits::Limits other = limits_of(begun);
        expect_equal(other, limits);
        EXPECT_EQ(other.axes[0].speed.present, begun.axes[0].settings.max_speed.value());
    }
}

TEST(Limits, AreTheSameForAllAxesTogether) {
    if (kSlowBuild) GTEST_SKIP() << "takes minutes here";
    const machine::Machine machine = shipped("label-plotter");
    expect_equal(limits_of(set_to(machine, kStarts[2])), limits_of(machine));
}

TEST(SearchStart, KnowsNothingOfTheSettings) {
    for (const char* name : kShipped) {
        const machine::Machine machine = shipped(name);
        const std::vector<limits::AxisGroup> groups = limits::axis_groups(machine);
        const machine::Machine expected =
            limits::start_machine(machine, run::motor_models(machine), groups);
        for (const Start& start : kStarts) {
            const machine::Machine begun = set_to(machine, start);
            const machine::Machine from =
                limits::start_machine(begun, run::motor_models(begun), groups);
            for (std::size_t s = 0; s < machine.axes.size(); ++s) {
                SCOPED_TRACE(std::string(name) + " " + machine.axes[s].letter);
                const machine::AxisSettings& settings = from.axes[s].settings;
                EXPECT_EQ(settings.max_speed, expected.axes[s].settings.max_speed);
                EXPECT_EQ(settings.max_acceleration, expected.axes[s].settings.max_acceleration);
                EXPECT_EQ(settings.speed_step, expected.axes[s].settings.speed_step);
                EXPECT_GT(settings.max_speed.value(), 0.0);
                EXPECT_GT(settings.speed_step.value(), 0.0);
            }
        }
    }
}

TEST(Limits, CrossedBeltsGetEqualSettings) {
    machine::Machine machine = shipped("insert-printer");
    machine.axes[0].settings.max_speed *= 2.0;
    const std::vector<limits::AxisGroup> groups = limits::axis_groups(machine);
    ASSERT_EQ(groups[0].slots.size(), 2U);
    groups[0].apply({0.2, 3.0, 0.01}, machine);
    for (const machine::Axis& axis : {machine.axes[0], machine.axes[1]}) {
        EXPECT_EQ(axis.settings.max_speed.value(), 0.2);
        EXPECT_EQ(axis.settings.max_acceleration.value(), 3.0);
        EXPECT_EQ(axis.settings.speed_step.value(), 0.01);
    }
}

// An axis that nothing moves takes no part: the others are searched, raised and proposed all the same.
TEST(Limits, AnAxisForWhichNothingHoldsLeavesTheOthersTheirs) {
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    machine::Machine machine = shipped("tray-printer");
    machine.axes = {machine.axes[0], machine.axes[2]};
    machine.program.axes = planner::AxisSet("XZ");
    const limits::Limits both = limits_of(machine);
    machine.axes[1].load.friction *= 1000.0;
    const limits::Limits stuck = limits_of(machine);
    EXPECT_FALSE(stuck.clear);
    EXPECT_EQ(stuck.why_not_clear, stuck.axes[1].why_not);
    EXPECT_FALSE(stuck.axes[1].holds);
    expect_equal(stuck.axes[0].speed, both.axes[0].speed);
    expect_equal(stuck.axes[0].acceleration, both.axes[0].acceleration);
}

// 5 % more of nothing is nothing: raising it would never end.
TEST(GroupSearch, ASettingOfNoneIsNotRaised) {
    const machine::Machine machine = machine_from(one_axis());
    const run::MotorModels models = run::motor_models(machine);
    const limits::AxisGroup group = limits::axis_groups(machine).front();
    limits::SearchShared shared{{}, {{}, 1, 0}};
    limits::GroupSearch search(machine, models, group, run::kDefaultMargin, shared);
    limits::GroupSettings at = limits::start_settings(machine, models, group);
    EXPECT_TRUE(search.raise(limits::kStepSetting, at));
    at.step_m_s = 0.0;
    EXPECT_FALSE(search.raise(limits::kStepSetting, at));
    EXPECT_EQ(at.step_m_s, 0.0);
}

TEST(Limits, WhereNoStepsAreMadeNothingHolds) {
    machine::Machine machine = machine_from(one_axis());
    // An interrupt every 120 cycles that takes more than its share of them.
    machine.controller.style = machine::ControllerStyle::fixed_rate;
    machine.controller.clock_hz = machine.controller.tick_hz = 72'000'000;
    machine.controller.base_rate_hz = 600'000;
    machine.controller.processor_share = 0.1;
    const limits::Limits limits = limits_of(machine);
    EXPECT_FALSE(limits.clear);
    EXPECT_FALSE(limits.axes[0].holds);
    EXPECT_NE(limits.axes[0].why_not.find("Hz"), std::string::npos) << limits.axes[0].why_not;
    EXPECT_EQ(limits::with_margin(machine, limits).axes[0].settings.max_speed,
              machine.axes[0].settings.max_speed);
}

TEST(WorstMoves, AMotorThatNeverHasItsFullTorqueCruisesAFewTimes) {
    machine::Machine machine = machine_from(one_axis());
    machine.axes[0].motor.resistance =
        planner::from_si<planner::Resistance>(60.0);  // 1.4 A x 60 ohm
    const run::MotorModels models = run::motor_models(machine);
    ASSERT_EQ(models.available[0].base_speed().value(), 0.0);
    std::size_t moves = 0;
    for (const run::ProgramSource& source : run::worst_moves(machine, models, 0))
        moves += source.moves()->moves.size();
    EXPECT_GT(moves, 10U);
    EXPECT_LT(moves, 2000U);
}

TEST(Limits, AProgramThatNoValueMendsIsNotClear) {
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    const machine::Machine machine = calm_axis();
    const TextFile far("G21 G90\nG1 X400 F3000\nM2\n");
    const limits::Limits limits =
        limits_of(machine, run::kDefaultMargin, {run::ProgramSource(far.path())});
    EXPECT_FALSE(limits.clear);
    EXPECT_EQ(limits.why_not_clear.find("travel: "), 0U) << limits.why_not_clear;
}

TEST(Limits, AxesNotAskedAboutKeepTheirValues) {
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    machine::Machine machine = shipped("label-plotter");
    machine.axes.resize(2);
    machine.program.axes = planner::AxisSet("XY");
    const auto limits = limits::find_limits({machine, {}, run::kDefaultMargin, 0b10});
    ASSERT_TRUE(limits);
    ASSERT_EQ(limits.value().axes.size(), 1U);
    EXPECT_EQ(limits.value().axes[0].letter, 'Y');
    EXPECT_TRUE(limits.value().axes[0].holds);
    const machine::Machine proposed = limits::with_margin(machine, limits.value());
    EXPECT_EQ(proposed.axes[0].settings.max_speed, machine.axes[0].settings.max_speed);
    EXPECT_NE(proposed.axes[1].settings.max_speed, machine.axes[1].settings.max_speed);
}

TEST(Limits, MoreMarginIsNeverHigher) {
    if (kSlowBuild) GTEST_SKIP() << "takes minutes here";
    const machine::Machine machine = machine_from(one_axis());
    const limits::AxisLimits none = limits_of(machine, 0.0).axes[0];
    const limits::AxisLimits usual = limits_of(machine, 0.2).axes[0];
    const limits::AxisLimits half = limits_of(machine, 0.5).axes[0];
    EXPECT_EQ(none.speed.with_margin, none.speed.just_holds);
    for (const auto setting : {&limits::AxisLimits::speed, &limits::AxisLimits::acceleration}) {
        EXPECT_EQ((none.*setting).just_holds, (half.*setting).just_holds);
        EXPECT_LT((usual.*setting).with_margin, (none.*setting).with_margin);
        EXPECT_LT((half.*setting).with_margin, (usual.*setting).with_margin);
    }
    EXPECT_LT(half.step->with_margin, usual.step->with_margin);
}

TEST(Limits, MovingBedGetsLessAccelerationThanTheHead) {
    machine::Machine machine = shipped("tray-printer");
    machine.axes.resize(2);
    machine.program.axes = planner::AxisSet("XY");
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    const limits::Limits limits = limits_of(machine);
    EXPECT_LT(limits.axes[1].acceleration.with_margin, limits.axes[0].acceleration.with_margin);
    EXPECT_FALSE(limits.axes[1].acceleration.why.empty());
    EXPECT_NE(limits.axes[1].acceleration.why.find("motor Y"), std::string::npos);
}

// A lower speed may leave room for a higher acceleration, so single figures may rise; what holds on
// the weaker machine must hold on the stronger one. (Not where an instability binds: a heavier or
// softer axis may pass through the mid speeds more calmly.)
TEST(Limits, WhatHoldsOnAWeakerMachineHoldsOnTheStronger) {
    if (kSlowBuild) GTEST_SKIP() << "takes minutes here";
    const std::vector<std::pair<const char*, void (*)(machine::Axis&)>> weaker{
        {"mass", [](machine::Axis& axis) { axis.load.mass *= 2.0; }},
        {"motor", [](machine::Axis& axis) { axis.running_factor = 0.5; }},
        {"supply", [](machine::Axis& axis) { axis.supply *= 0.7; }},
    };
    machine::Machine machine = calm_axis();
    machine.axes[0].running_factor = 0.8;
    for (const auto& [name, weaken] : weaker) {
        machine::Machine weak = machine;
        weaken(weak.axes[0]);
        // At the bare edge a swing decides too, and less voltage moves the speeds at which it grows: what keeps the margin counts.
        const limits::Limits limits = limits_of(weak, run::kDefaultMargin);
        EXPECT_EQ(checked(limits::with_margin(machine, limits), 0.0), check::Verdict::clear)
            << name;
    }
}

TEST(Limits, NothingHoldsWhereFrictionTakesAll) {
    const limits::Limits limits = limits_of(
        machine_from(changed(R"(friction = "2 N")", R"(friction = "400 N")", one_axis())));
    EXPECT_FALSE(limits.axes[0].holds);
    EXPECT_FALSE(limits.clear);
    EXPECT_FALSE(limits.axes[0].why_not.empty());
}

}  // namespace
