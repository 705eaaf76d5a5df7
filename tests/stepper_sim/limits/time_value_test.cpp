// Durations that a hand can work out, and that more of a setting never takes longer.
#include <gtest/gtest.h>

#include <cmath>

#include "stepper_sim/limits/time_value.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

// Moves are planned in whole steps of the motor: well under a millisecond.
constexpr double kPlanned_s = 1e-3;

/// From rest to rest: 0.1 m at v with a takes 0.1/v + v/a.
double stroke_s(double speed_m_s, double acceleration_m_s2) {
    return 0.1 / speed_m_s + speed_m_s / acceleration_m_s2;
}

machine::Machine bench() {
    machine::Machine machine = machine_from();
    machine.axes[0].settings.max_speed = planner::from_si<planner::Speed>(0.1);
    machine.axes[0].settings.max_acceleration = planner::from_si<planner::Acceleration>(1.0);
    machine.axes[0].settings.speed_step = planner::from_si<planner::Speed>(0.0);
    return machine;
}

TEST(TimeValue, AStrokeTakesWhatTheHandWorksOut) {
    const machine::Machine now = bench();
    machine::Machine wanted = now;
    wanted.axes[0].settings.max_speed *= 2.0;
    wanted.axes[0].settings.max_acceleration *= 4.0;
    const TextFile program("G21 G90\nG0 X100\n");
    const std::vector<run::ProgramSource> programs{run::ProgramSource(program.path())};
    const auto result = limits::time_value(now, wanted, programs);
    ASSERT_TRUE(result);
    const limits::TimeValue& value = result.value();
    EXPECT_NEAR(value.now_s, stroke_s(0.1, 1.0), kPlanned_s);
    EXPECT_NEAR(value.wanted_s, stroke_s(0.2, 4.0), kPlanned_s);
    ASSERT_EQ(value.worths.size(), 2U);
    EXPECT_EQ(value.worths[0].setting, machine::SettingKey::max_speed);  // saves most
    EXPECT_NEAR(value.worths[0].duration_s, stroke_s(0.2, 1.0), kPlanned_s);
    EXPECT_NEAR(value.worths[1].duration_s, stroke_s(0.1, 4.0), kPlanned_s);
    EXPECT_NEAR(value.grid_s[0][4], stroke_s(0.2, 0.5), kPlanned_s);
    // Y and Z do not move.
    ASSERT_EQ(value.alone.size(), 3 * now.axes.size());
    EXPECT_EQ(value.alone[0].setting, machine::SettingKey::max_speed);
    EXPECT_EQ(value.alone[1].setting, machine::SettingKey::max_acceleration);
    for (std::size_t i = 0; i < limits::kTimeScales.size(); ++i) {
        EXPECT_EQ(value.alone[i % 2].letter, 'X');
        EXPECT_NEAR(value.alone[0].duration_s[i], stroke_s(0.1 * limits::kTimeScales[i], 1.0),
                    kPlanned_s);
        EXPECT_NEAR(value.alone[1].duration_s[i], stroke_s(0.1, limits::kTimeScales[i]),
                    kPlanned_s);
        EXPECT_EQ(value.alone[2].duration_s[i],
                  value.now_s);  // X speed_step of none, or another axis
    }
    // Speed alone is worth more until the stroke's peak, sqrt(0.1 m * 1 m/s^2) = 0.316 m/s: 3.16 times.
    EXPECT_GT(value.speed_knee, 2.0);
    EXPECT_LE(value.speed_knee, 3.2);
}

TEST(TimeValue, SpeedStepsAreNotScaledWhereCornersGoByDeviation) {
    machine::Machine machine = bench();
    machine.planning.corner = planner::CornerRule::deviation;
    const TextFile program("G21 G90\nG0 X100\n");
    const std::vector<run::ProgramSource> programs{run::ProgramSource(program.path())};
    const auto result = limits::time_value(machine, machine, programs);
    ASSERT_TRUE(result);
    ASSERT_EQ(result.value().alone.size(), 2 * machine.axes.size());
    for (const limits::SettingTimes& times : result.value().alone)
        EXPECT_NE(times.setting, machine::SettingKey::speed_step);
    EXPECT_NEAR(result.value().alone[0].duration_s[0], stroke_s(0.05, 1.0), kPlanned_s);
}

TEST(TimeValue, MoreOfASettingNeverTakesLonger) {
    const machine::Machine machine = machine_from();
    const std::vector<run::ProgramSource> programs{
        run::ProgramSource(kConfigs / "programs" / "oak-tag-mm.gcode")};
    const auto result = limits::time_value(machine, machine, programs);
    ASSERT_TRUE(result) << planner::to_line(result.diagnostics().front());
    const auto& grid = result.value().grid_s;
    for (std::size_t a = 0; a < grid.size(); ++a)
        for (std::size_t s = 0; s < grid.size(); ++s) {
            if (s > 0) {
                EXPECT_LE(grid[a][s], grid[a][s - 1] + kPlanned_s);
            }
            if (a > 0) {
                EXPECT_LE(grid[a][s], grid[a - 1][s] + kPlanned_s);
            }
        }
    bool steps_matter = false;
    for (const limits::SettingTimes& times : result.value().alone) {
        for (std::size_t i = 1; i < times.duration_s.size(); ++i)
            EXPECT_LE(times.duration_s[i], times.duration_s[i - 1] + kPlanned_s) << times.letter;
        steps_matter = steps_matter || (times.setting == machine::SettingKey::speed_step &&
                                        times.spread_s() > kPlanned_s);
    }
    EXPECT_TRUE(steps_matter);
    EXPECT_TRUE(result.value().worths.empty());
    EXPECT_EQ(result.value().now_s, grid[2][2]);
}

}  // namespace
