#include "stepper_sim/limits/part_ranking.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "stepper_sim/limits/time_value.hpp"
#include "stepper_sim/limits/torque_bench.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace stepper_sim::limits {
namespace {

using samples::kConfigs;
using samples::shipped;

constexpr double kMargin = 0.2;
constexpr double kJustMore = 1.01;  // of an acceleration that leaves just the margin
constexpr double kRounding = 1e-9;  // of a bisection to a billionth

const machine::Catalogue& catalogue() {
    static const machine::Catalogue all = machine::read_catalogue(kConfigs);
    return all;
}

PartRanking ranked(const machine::Machine& machine, int slot,
                   std::span<const run::ProgramSource> programs = {}) {
    auto ranking = rank_parts(machine, slot, catalogue(), programs, kMargin);
    EXPECT_TRUE(ranking);
    return ranking.value();
}

const machine::MotorPart& motor_named(const std::string& name) {
    return std::ranges::find_if(
               catalogue().motors,
               [&](const auto& entry) { return entry.part && entry.part.value().name == name; })
        ->part.value();
}

/// Least share left on the low torque up to the speed.
double least_left(const TorqueBench& bench, double speed_m_s, double acceleration_m_s2) {
    double least = 1.0;
    for (int i = 0; i <= 1000; ++i) {
        const double v = speed_m_s * i / 1000.0;
        const double low_Nm =
            bench.available.at(planner::from_si<planner::AngularSpeed>(v / bench.radius_m()))
                .low.value();
        least = std::min(least, 1.0 - bench.asked_Nm(v, acceleration_m_s2) / low_Nm);
    }
    return least;
}

TEST(PartRanking, SettingsLeaveTheMarginAndNoMore) {
    const machine::Machine machine = shipped("tray-printer");
    const PartRanking ranking = ranked(machine, 0);
    const auto present = std::ranges::find_if(ranking.parts, &RankedPart::present);
    ASSERT_NE(present, ranking.parts.end());
    const TorqueBench bench = torque_bench(machine, 0, machine.axes[0]);
    EXPECT_GE(least_left(bench, present->speed_m_s, present->acceleration_m_s2), kMargin - 1e-3)
        << "looked at in fewer places";
    EXPECT_LT(least_left(bench, present->speed_m_s, kJustMore * present->acceleration_m_s2),
              kMargin);
}

TEST(PartRanking, AStrongerMotorComesFirst) {
    machine::Machine machine = shipped("tray-printer");
    const PartRanking ranking = ranked(machine, 0);
    ASSERT_GT(ranking.parts.size(), 10U);
    for (std::size_t i = 1; i < ranking.parts.size(); ++i) {
        const RankedPart &before = ranking.parts[i - 1], &after = ranking.parts[i];
        EXPECT_LE(before.duration_s, after.duration_s + kToldShare * ranking.present_s);
        if (before.duration_s > after.duration_s) {
            EXPECT_GE(before.acceleration_m_s2, after.acceleration_m_s2) << "of the same time";
        }
    }
    // A motor like another but with twice the torque in every figure takes no longer.
    machine::Catalogue two;
    machine::MotorPart weak = machine.axes[0].motor, strong = weak;
    weak.name = "weak";
    strong.name = "strong";
    strong.holding_torque *= 2.0;
    for (machine::PullOutCurve& curve : strong.curves)
        for (planner::Torque& torque : curve.torques)
            torque *= 2.0;
    two.motors = {{"motors/weak.toml", weak}, {"motors/strong.toml", strong}};
    two.drivers = {{"drivers/own.toml", machine.axes[0].driver}};
    const auto both = rank_parts(machine, 0, two, {}, kMargin);
    ASSERT_TRUE(both);
    ASSERT_EQ(both.value().parts.size(), 3U);
    EXPECT_EQ(both.value().parts[0].motor, "strong");
    EXPECT_LT(both.value().parts[0].duration_s, both.value().parts[1].duration_s);
}

TEST(PartRanking, WhatBreaksARatingIsLeftOut) {
    machine::Machine machine = shipped("tray-printer");
    machine.axes[0].supply = planner::from_si<planner::Voltage>(44.0);
    const PartRanking ranking = ranked(machine, 0);
    for (const RankedPart& part : ranking.parts)
        for (const std::string& name : part.drivers) {
            if (part.present) continue;
            const auto driver = std::ranges::find_if(catalogue().drivers, [&](const auto& entry) {
                return entry.part && entry.part.value().name == name;
            });
            EXPECT_LE(44.0, driver->part.value().supply_max.value()) << name;
        }
    EXPECT_GT(ranking.rating_broken, 0);
    EXPECT_GT(ranking.other_frames, 0);
    for (const RankedPart& part : ranking.parts)
        if (!part.present) {
            EXPECT_EQ(motor_named(part.motor).frame, machine.axes[0].motor.frame) << part.motor;
        }
}

TEST(PartRanking, AStrokeTakesWhatTheHandWorksOut) {
    const machine::Machine machine = shipped("tray-printer");
    const PartRanking ranking = ranked(machine, 0);
    const machine::Axis& axis = machine.axes[0];
    EXPECT_NEAR(ranking.stroke_m, 0.5 * (axis.travel_max->value() - axis.travel_min->value()),
                1e-12);
    const double v = axis.settings.max_speed.value(), a = axis.settings.max_acceleration.value();
    EXPECT_NEAR(ranking.present_s, ranking.stroke_m / v + v / a, kRounding);
}

TEST(PartRanking, TimeIsThatOfTheProgramsWhereThereAreSome) {
    const machine::Machine machine = shipped("tray-printer");
    const run::ProgramSource program(kConfigs / "programs" / "wedge-marker.gcode");
    const PartRanking ranking = ranked(machine, 0, {&program, 1});
    EXPECT_EQ(ranking.stroke_m, 0.0);
    const auto present = std::ranges::find_if(ranking.parts, &RankedPart::present);
    EXPECT_LT(present->duration_s, ranking.present_s);
    EXPECT_GT(present->duration_s, 0.5 * ranking.present_s);
}

TEST(PartRanking, CrossedBeltsGetTwo) {
    const machine::Machine machine = shipped("insert-printer");
    ASSERT_EQ(machine.kinematics, planner::Kinematics::crossed_belt);
    const run::ProgramSource program(kConfigs / "programs" / "wedge-marker.gcode");
    const PartRanking x = ranked(machine, 0, {&program, 1}), y = ranked(machine, 1, {&program, 1});
    ASSERT_FALSE(x.parts.empty());
    // Whichever axis is named, both get the pace.
    EXPECT_EQ(x.present_s, y.present_s);
    EXPECT_LT(x.parts.front().duration_s, x.present_s);
}

}  // namespace
}  // namespace stepper_sim::limits
