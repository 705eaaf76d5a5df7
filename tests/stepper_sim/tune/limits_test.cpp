// The limits against the checks they come from: what is proposed is clear, what is above is not.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "../check/samples.hpp"
#include "stepper_sim/check/canonical_moves.hpp"
#include "stepper_sim/tune/axis_group.hpp"
#include "stepper_sim/tune/group_search.hpp"
#include "stepper_sim/tune/highest.hpp"
#include "stepper_sim/tune/limits.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

#ifdef STEPPER_SIM_SLOW_BUILD
constexpr bool kSlowBuild = true;  // sanitizers make the motor model several times slower
#else
constexpr bool kSlowBuild = false;
#endif

/// The bench machine with its X axis alone: one search instead of three.
std::string one_axis(const std::string& text = std::string(kBench)) {
    return text.substr(0, text.find("[axes.y]"));
}

Limits limits_of(const Machine& machine, double margin = kDefaultMargin,
                 const std::vector<ProgramSource>& programs = {}) {
    const auto limits = find_limits({machine, programs, margin});
    for (const planner::Diagnostic& diagnostic : limits.diagnostics())
        ADD_FAILURE() << planner::to_line(diagnostic);
    return limits.value();
}

/// What `check` says: without programs, on the worst-case moves.
Verdict checked(const Machine& machine, double margin,
                const std::vector<ProgramSource>& programs = {}) {
    const MotorModels models = motor_models(machine);
    std::vector<ProgramResult> results;
    for (const ProgramSource& source :
         programs.empty() ? canonical_programs(machine, models) : programs) {
        auto result = run_program(machine, models, source);
        EXPECT_TRUE(result);
        results.push_back(std::move(result).value());
    }
    return verdict_of(run_checks({machine, models, results, margin}));
}

TEST(Highest, FindsTheEdgeFromEitherSide) {
    for (const double edge : {0.003, 0.9, 1.0, 7.0})
        for (const double start : {0.1, 1.0, 5.0}) {
            const auto found = highest(
                start, 100.0, [&](double x) { return x <= edge; }, kFoundTo, 1e-6);
            ASSERT_TRUE(found);
            EXPECT_LE(*found, edge);
            EXPECT_GT(*found * kFoundTo, edge * (1.0 - 1e-12));
        }
}

TEST(Highest, StopsAtTheCapAndAtNothing) {
    EXPECT_EQ(highest(1.0, 3.0, [](double) { return true; }), 3.0);
    EXPECT_EQ(highest(5.0, 3.0, [](double) { return true; }), 3.0);
    EXPECT_FALSE(highest(1.0, 3.0, [](double) { return false; }));
}

TEST(CanonicalMoves, StayInsideTheTravelAndEndWhereTheNextBegins) {
    for (const auto& [name, hurry] : {std::pair{"tray-printer", 1.0},
                                      {"tray-printer", 4.0},
                                      {"insert-printer", 1.0},
                                      {"insert-printer", 3.0},
                                      {"tag-router", 2.0},
                                      {"label-plotter", 5.0}}) {
        Machine machine = shipped(name);
        for (Axis& axis : machine.axes)
            axis.settings.max_speed *= hurry;
        constexpr double kRounding_m = 1e-9;
        for (const ProgramSource& source : canonical_programs(machine, motor_models(machine))) {
            const auto& moves = *source.moves();
            for (std::size_t i = 0; i < moves.size(); ++i) {
                if (i > 0) {
                    EXPECT_EQ(moves[i].start_m, moves[i - 1].end_m) << source.name();
                }
                for (std::size_t s = 0; s < machine.axes.size(); ++s) {
                    const Axis& axis = machine.axes[s];
                    if (!axis.travel_min) continue;
                    EXPECT_GE(moves[i].end_m[s], axis.travel_min->value() - kRounding_m);
                    EXPECT_LE(moves[i].end_m[s], axis.travel_max->value() + kRounding_m);
                }
            }
        }
    }
}

TEST(CanonicalMoves, StrokesTakeTheTimeAskedFor) {
    // 0.1 s from 5 mm/s: up to 55 mm/s and back, mean 30 mm/s.
    EXPECT_DOUBLE_EQ(stroke_m(0.1, 0.005, 1.0, 1.0), 0.003);
    // Held at 30 mm/s from 25 ms on: two ramps of 0.4375 mm and 50 ms of cruise.
    EXPECT_NEAR(stroke_m(0.1, 0.005, 0.030, 1.0), 2 * 0.0004375 + 0.0015, 1e-15);
}

/// The plotter's X axis alone: torque and resonance bind it, no instability.
Machine calm_axis() {
    Machine machine = shipped("label-plotter");
    machine.axes.resize(1);
    machine.program.axes = planner::AxisSet("X");
    return machine;
}

/// With the values found it is clear, and a step more of any of them is not; where something binds that a setting cannot be judged by, it is
/// left out.
void expect_edge(const Machine& machine, const Limits& limits) {
    EXPECT_EQ(checked(with_margin(machine, limits), limits.margin), Verdict::clear);
    const Machine just = just_holding(machine, limits);
    EXPECT_EQ(checked(just, 0.0), Verdict::clear);
    const AxisLimits& axis = limits.axes[0];
    const auto raise = [](auto& value) {
        value = std::decay_t<decltype(value)>::from_value(next_setting(value.value()));
    };
    for (int setting = 0; setting < (axis.step ? 3 : 2); ++setting) {
        Machine above = just;
        AxisSettings& settings = above.axes[0].settings;
        const SettingLimit& limit = setting == 0   ? axis.speed
                                    : setting == 1 ? axis.acceleration
                                                   : *axis.step;
        if (limit.binds == Binding::travel || limit.binds == Binding::top_speed) continue;
        if (setting == 0) raise(settings.max_speed);
        if (setting == 1) raise(settings.max_acceleration);
        if (setting == 2) raise(settings.speed_step);
        EXPECT_NE(checked(above, 0.0), Verdict::clear) << setting << " " << limit.why;
    }
}

TEST(Limits, ProposedIsClearAndAboveJustHoldsIsNot) {
    const Machine machine = calm_axis();
    const Limits limits = limits_of(machine);
    ASSERT_TRUE(limits.clear) << limits.why_not_clear;
    expect_edge(machine, limits);
}

// Searched one after the other, the settings leave room where slips come and go with them.
TEST(Limits, AboveWhatJustHoldsIsRefusedWhereAnInstabilityBindsToo) {
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    Machine machine = shipped("tag-router");
    machine.axes.resize(1);
    machine.program.axes = planner::AxisSet("X");
    const Limits limits = limits_of(machine);
    ASSERT_EQ(limits.axes[0].speed.binds, Binding::instability);
    expect_edge(machine, limits);
}

void expect_nothing_taken_away(const Machine& machine) {
    ASSERT_EQ(checked(machine, 0.0), Verdict::clear);
    const Limits limits = limits_of(machine);
    for (const AxisLimits& axis : limits.axes)
        for (const SettingLimit& limit :
             {axis.speed, axis.acceleration, axis.step.value_or(SettingLimit{})})
            EXPECT_GE(limit.just_holds, limit.present) << axis.letter << ": " << limit.why;
    EXPECT_EQ(checked(just_holding(machine, limits), 0.0), Verdict::clear);
    EXPECT_TRUE(limits.clear) << limits.why_not_clear;
}

// At its own best values Y leaves X half of its speed: together they slip in corners.
TEST(Limits, WhatThePresentSettingsHoldIsNotTakenAwayByAnotherAxis) {
    if (kSlowBuild) GTEST_SKIP() << "takes minutes here";
    Machine machine = shipped("tag-router");
    machine.axes.resize(2);
    machine.program.axes = planner::AxisSet("XY");
    expect_nothing_taken_away(machine);
}

// The highest speed leaves less than the present acceleration.
TEST(Limits, WhatThePresentSettingsHoldIsNotTakenAwayByAnotherSetting) {
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    Machine machine = calm_axis();
    // The plate alone: at this supply the published curve ends below the present speed.
    machine.axes[0].motor.curves.clear();
    machine.axes[0].running_factor = 0.8;
    machine.axes[0].supply *= 0.7;
    expect_nothing_taken_away(machine);
}

// 5 % more of nothing is nothing: raising it would never end.
TEST(GroupSearch, ASettingOfNoneIsNotRaised) {
    const Machine machine = machine_from(one_axis());
    const MotorModels models = motor_models(machine);
    const AxisGroup group = axis_groups(machine).front();
    GroupSearch search(machine, models, group, kDefaultMargin);
    GroupSettings at = present_settings(group, machine);
    EXPECT_TRUE(search.raise(kStepSetting, at));
    at.step_m_s = 0.0;
    EXPECT_FALSE(search.raise(kStepSetting, at));
    EXPECT_EQ(at.step_m_s, 0.0);
}

TEST(Limits, WhereNoStepsAreMadeNothingHolds) {
    Machine machine = machine_from(one_axis());
    // An interrupt every 120 cycles that takes more than its share of them.
    machine.controller.style = ControllerStyle::fixed_rate;
    machine.controller.clock_hz = machine.controller.tick_hz = 72'000'000;
    machine.controller.base_rate_hz = 600'000;
    machine.controller.processor_share = 0.1;
    const Limits limits = limits_of(machine);
    EXPECT_FALSE(limits.clear);
    EXPECT_FALSE(limits.axes[0].holds);
    EXPECT_NE(limits.axes[0].why_not.find("Hz"), std::string::npos) << limits.axes[0].why_not;
    EXPECT_EQ(with_margin(machine, limits).axes[0].settings.max_speed,
              machine.axes[0].settings.max_speed);
}

TEST(CanonicalMoves, AMotorThatNeverHasItsFullTorqueCruisesAFewTimes) {
    Machine machine = machine_from(one_axis());
    machine.axes[0].motor.resistance =
        planner::from_si<planner::Resistance>(60.0);  // 1.4 A x 60 ohm
    const MotorModels models = motor_models(machine);
    ASSERT_EQ(models.available[0].corner_speed().value(), 0.0);
    std::size_t moves = 0;
    for (const ProgramSource& source : canonical_moves(machine, models, 0))
        moves += source.moves()->size();
    EXPECT_GT(moves, 10U);
    EXPECT_LT(moves, 2000U);
}

TEST(Limits, AProgramThatNoValueMendsIsNotClear) {
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    const Machine machine = calm_axis();
    const TextFile far("G21 G90\nG1 X400 F3000\nM2\n");
    const Limits limits = limits_of(machine, kDefaultMargin, {ProgramSource(far.path())});
    EXPECT_FALSE(limits.clear);
    EXPECT_EQ(limits.why_not_clear.find("travel: "), 0U) << limits.why_not_clear;
}

TEST(Limits, AxesNotAskedAboutKeepTheirValues) {
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    Machine machine = shipped("label-plotter");
    machine.axes.resize(2);
    machine.program.axes = planner::AxisSet("XY");
    const auto limits = find_limits({machine, {}, kDefaultMargin, 0b10});
    ASSERT_TRUE(limits);
    ASSERT_EQ(limits.value().axes.size(), 1U);
    EXPECT_EQ(limits.value().axes[0].letter, 'Y');
    EXPECT_TRUE(limits.value().axes[0].holds);
    const Machine proposed = with_margin(machine, limits.value());
    EXPECT_EQ(proposed.axes[0].settings.max_speed, machine.axes[0].settings.max_speed);
    EXPECT_NE(proposed.axes[1].settings.max_speed, machine.axes[1].settings.max_speed);
}

TEST(Limits, MoreMarginIsNeverHigher) {
    if (kSlowBuild) GTEST_SKIP() << "takes minutes here";
    const Machine machine = machine_from(one_axis());
    const AxisLimits none = limits_of(machine, 0.0).axes[0];
    const AxisLimits usual = limits_of(machine, 0.2).axes[0];
    const AxisLimits half = limits_of(machine, 0.5).axes[0];
    EXPECT_EQ(none.speed.with_margin, none.speed.just_holds);
    for (const auto setting : {&AxisLimits::speed, &AxisLimits::acceleration}) {
        EXPECT_EQ((none.*setting).just_holds, (half.*setting).just_holds);
        EXPECT_LT((usual.*setting).with_margin, (none.*setting).with_margin);
        EXPECT_LT((half.*setting).with_margin, (usual.*setting).with_margin);
    }
    EXPECT_LT(half.step->with_margin, usual.step->with_margin);
}

TEST(Limits, MovingBedGetsLessAccelerationThanTheHead) {
    Machine machine = shipped("tray-printer");
    machine.axes.resize(2);
    machine.program.axes = planner::AxisSet("XY");
    if (kSlowBuild) GTEST_SKIP() << "takes a minute here";
    const Limits limits = limits_of(machine);
    EXPECT_LT(limits.axes[1].acceleration.with_margin, limits.axes[0].acceleration.with_margin);
    EXPECT_FALSE(limits.axes[1].acceleration.why.empty());
    EXPECT_NE(limits.axes[1].acceleration.why.find("motor Y"), std::string::npos);
}

// A lower speed may leave room for a higher acceleration, so single figures may rise; what holds on
// the weaker machine must hold on the stronger one. (Not where an instability binds: a heavier or
// softer axis may pass through the mid speeds more calmly.)
TEST(Limits, WhatHoldsOnAWeakerMachineHoldsOnTheStronger) {
    if (kSlowBuild) GTEST_SKIP() << "takes minutes here";
    const std::vector<std::pair<const char*, void (*)(Axis&)>> weaker{
        {"mass", [](Axis& axis) { axis.load.mass *= 2.0; }},
        {"motor", [](Axis& axis) { axis.running_factor = 0.5; }},
        {"supply", [](Axis& axis) { axis.supply *= 0.7; }},
    };
    Machine machine = calm_axis();
    machine.axes[0].running_factor = 0.8;
    for (const auto& [name, weaken] : weaker) {
        Machine weak = machine;
        weaken(weak.axes[0]);
        const Limits limits = limits_of(weak, 0.0);
        EXPECT_EQ(checked(just_holding(machine, limits), 0.0), Verdict::clear) << name;
    }
}

TEST(Limits, NothingHoldsWhereFrictionTakesAll) {
    const Limits limits = limits_of(
        machine_from(changed(R"(friction = "2 N")", R"(friction = "400 N")", one_axis())));
    EXPECT_FALSE(limits.axes[0].holds);
    EXPECT_FALSE(limits.clear);
    EXPECT_FALSE(limits.axes[0].why_not.empty());
}

}  // namespace
