// The second look at a program: pulses, places and angles against the same worked out from all of its moves and edges.
#include "stepper_sim/picture/moments.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "planner/profile/motion.hpp"
#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/dynamics/full_model.hpp"
#include "tests/stepper_sim/capture/capture_samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr double kRounding =
    1e-9;  // of sums of seconds and metres: below a tick and far below a step

/// X there and back, Y beside it; about four seconds.
constexpr std::string_view kStrokes =
    "G21 G90\nG1 X40 Y10 F3000\nX10\nX60 Y30\nX20 Y70\nX5\nY90\nX50 Y20\nM2\n";

check::Finding finding_at(char motor, double time_s, std::uint64_t line = 3) {
    check::Finding finding;
    finding.motor = motor;
    finding.time_s = time_s;
    finding.line = line;
    return finding;
}

picture::Recording recorded(const machine::Machine& machine, const TextFile& file,
                            const check::Findings& findings, const run::RunOptions& options = {}) {
    const run::MotorModels models = run::motor_models(machine);
    const auto result = run::run_program(machine, models, file.path(), options);
    EXPECT_TRUE(result);
    picture::Recording recording;
    EXPECT_TRUE(
        picture::record_moments(machine, models, file.path(), result.value(), findings, recording));
    return recording;
}

TEST(Moments, HoldThePulsesAndTurnsOfTheirMotorAndNoOthers) {
    const machine::Machine machine = machine_from();
    const TextFile file(kStrokes);
    const auto edges = edges_of(machine, file.path());
    for (const double at_s : {0.3, 1.7}) {
        const picture::Recording recording =
            recorded(machine, file, {finding_at('X', at_s)}, {.dynamics = false});
        ASSERT_EQ(recording.moments.size(), 1U);
        const picture::MomentRecord& moment = recording.moments[0];
        EXPECT_EQ(moment.letter, 'X');
        EXPECT_NEAR(moment.start_s, std::max(0.0, at_s - 0.4), kRounding);
        EXPECT_NEAR(moment.end_s, at_s + 0.15, kRounding);
        const auto hz = static_cast<double>(moment.tick_hz);
        const std::int64_t first = std::llround(moment.start_s * hz),
                           last = std::llround(moment.end_s * hz);
        std::vector<std::int64_t> rises, turns;
        std::int8_t direction = 1;
        for (const controller::Edge& edge : edges) {
            if (edge.motor != 0 || edge.tick > last) continue;
            if (edge.kind == controller::EdgeKind::direction) {
                if (edge.tick < first)
                    direction = edge.direction;
                else
                    turns.push_back(edge.tick - first);
            } else if (edge.kind == controller::EdgeKind::step_rise && edge.tick >= first) {
                rises.push_back(edge.tick - first);
            }
        }
        ASSERT_EQ(moment.rises.size(), rises.size()) << at_s;
        for (std::size_t i = 0; i < rises.size(); ++i)
            // Emission that begins in the middle of a program may round a tick differently.
            EXPECT_LE(std::abs(static_cast<std::int64_t>(moment.rises[i]) - rises[i]), 1) << i;
        EXPECT_EQ(moment.turns.size(), turns.size());
        EXPECT_FALSE(rises.empty());
        EXPECT_EQ(moment.first_direction, direction) << at_s;
    }
}

TEST(Moments, CommandIsSignedAndItsIntegralIsTheDistance) {
    const machine::Machine machine = machine_from();
    const TextFile file("G21 G90\nG1 X8 F3000\nX2\n");
    const picture::Recording recording = recorded(machine, file, {finding_at('X', 0.35)});
    ASSERT_EQ(recording.moments.size(), 1U);
    const auto& command = recording.moments[0].command;
    double distance_m = 0.0, slowest_m_s = 0.0;
    for (std::size_t i = 1; i < command.size(); ++i) {
        distance_m += 0.5 * (command[i].speed_m_s + command[i - 1].speed_m_s) *
                      (command[i].time_s - command[i - 1].time_s);
        slowest_m_s = std::min(slowest_m_s, command[i].speed_m_s);
    }
    EXPECT_NEAR(distance_m, 2e-3, kRounding);
    EXPECT_NEAR(slowest_m_s, -0.05, kRounding);
}

TEST(Moments, AFindingsPlaceIsThatOfTheToolThen) {
    const machine::Machine machine = machine_from();
    const TextFile file(kStrokes);
    const auto moves = moves_of(machine, file.path());
    const auto end_s = [&](std::size_t i) {
        return moves[i].start.seconds() + moves[i].profile.duration_s;
    };
    // Not in the order of time; one without a time has no place.
    check::Findings findings{finding_at('X', end_s(3)), finding_at('Y', end_s(0)), check::Finding{},
                             finding_at('X', end_s(1))};
    const picture::Recording recording = recorded(machine, file, findings);
    ASSERT_EQ(recording.places.size(), findings.size());
    constexpr std::array<std::size_t, 4> of{3, 0, 0, 1};
    for (const std::size_t i : {0U, 1U, 3U}) {
        EXPECT_TRUE(recording.places[i].known) << i;
        EXPECT_NEAR(recording.places[i].x_m, moves[of[i]].tool_end_m[0], kRounding) << i;
        EXPECT_NEAR(recording.places[i].y_m, moves[of[i]].tool_end_m[1], kRounding) << i;
        EXPECT_NEAR(recording.places[i].z_m, moves[of[i]].tool_end_m[2], kRounding) << i;
    }
    EXPECT_FALSE(recording.places[2].known);
}

TEST(Moments, APlaceInTheMiddleOfAMoveIsWhereTheToolIsThen) {
    const machine::Machine machine = machine_from();
    const TextFile file(kStrokes);
    const planner::MotorMove move = moves_of(machine, file.path()).at(2);
    const double after_s = 0.3 * move.profile.duration_s;
    const picture::Recording recording =
        recorded(machine, file, {finding_at('X', move.start.seconds() + after_s)});
    const double along_m = planner::distance_at(move.profile, after_s);
    ASSERT_GT(along_m, 1e-3);
    ASSERT_LT(along_m, move.length_m - 1e-3);
    const double share = along_m / move.length_m;
    EXPECT_NEAR(recording.places.at(0).x_m,
                std::lerp(move.tool_start_m[0], move.tool_end_m[0], share), kRounding);
    EXPECT_NEAR(recording.places.at(0).y_m,
                std::lerp(move.tool_start_m[1], move.tool_end_m[1], share), kRounding);
}

TEST(Moments, FindingsOfOneMotorATwentiethSecondApartShareOneAndThereAreThreeAtMost) {
    const machine::Machine machine = machine_from();
    const TextFile file(kStrokes);
    const auto moments = [&](const check::Findings& findings) {
        return recorded(machine, file, findings).moments.size();
    };
    EXPECT_EQ(moments({finding_at('X', 0.5), finding_at('X', 0.54)}), 1U);
    EXPECT_EQ(moments({finding_at('X', 0.5), finding_at('X', 0.56)}), 2U);
    EXPECT_EQ(moments({finding_at('X', 0.5), finding_at('Y', 0.5)}), 2U);
    EXPECT_EQ(moments({finding_at('X', 0.5), finding_at('X', 0.6), finding_at('X', 0.7),
                       finding_at('X', 0.8)}),
              picture::kMostMoments);
}

TEST(Moments, LinesAroundAFindingAreKept) {
    const TextFile file(kStrokes);
    const picture::Recording recording = recorded(machine_from(), file, {finding_at('X', 0.3, 5)});
    for (const std::uint64_t line : {3U, 4U, 5U, 6U, 7U})
        EXPECT_TRUE(recording.lines.contains(line)) << line;
    EXPECT_EQ(recording.lines.at(5), "X20 Y70");
    EXPECT_EQ(recording.lines.size(), 5U);
}

TEST(Moments, WithoutFindingsTheMotorThatSwingsMostIsShown) {
    const machine::Machine machine = machine_from();
    const TextFile file("G21 G90\nG1 Y40 F3000\nY10\nM2\n");
    const picture::Recording recording = recorded(machine, file, {});
    ASSERT_EQ(recording.moments.size(), 1U);
    EXPECT_EQ(recording.moments[0].letter, 'Y');
}

TEST(Moments, AnglesAreThoseOfTheFullModelAtBothEdgesOfTheBand) {
    const machine::Machine machine = machine_from();
    const run::MotorModels models = run::motor_models(machine);
    const TextFile file(kStrokes);
    const picture::Recording recording = recorded(machine, file, {finding_at('X', 0.3)});
    ASSERT_EQ(recording.moments.size(), 1U);
    const picture::MomentRecord& moment = recording.moments[0];
    ASSERT_TRUE(moment.turns.empty()) << "one direction only: X40";
    std::vector<dynamics::StepEdge> edges;
    for (const std::uint32_t tick : moment.rises)
        edges.push_back({tick / static_cast<double>(moment.tick_hz), 1});
    for (const auto& [edge, angles] :
         {std::pair(dynamics::BandEdge::low, &moment.angle_low_rad),
          std::pair(dynamics::BandEdge::high, &moment.angle_high_rad)}) {
        const dynamics::AxisDynamics axis =
            dynamics::axis_dynamics(machine, models.loads, models.available[0], 0, edge);
        dynamics::WindowRun run;
        run.axis = &axis;
        run.edges = edges;
        run.duration_s = moment.end_s - moment.start_s;
        for (const picture::CommandPoint& point : moment.command)
            run.top_rate_rad_s = std::max(
                run.top_rate_rad_s, std::abs(point.speed_m_s) / models.loads.motors[0].radius_m);
        const auto states =
            dynamics::trace(run, dynamics::integration_step_s(axis, run.top_rate_rad_s));
        const auto [least, greatest] =
            std::minmax_element(states.begin(), states.end(),
                                [](const dynamics::MotorState& a, const dynamics::MotorState& b) {
                                    return a.lag_rad < b.lag_rad;
                                });
        const auto [drawn_least, drawn_greatest] =
            std::minmax_element(angles->begin(), angles->end());
        EXPECT_FLOAT_EQ(*drawn_least, static_cast<float>(least->lag_rad));
        EXPECT_FLOAT_EQ(*drawn_greatest, static_cast<float>(greatest->lag_rad));
    }
}

// A start from rest into a cruise of 100 mm/s would swing through more than a radian.
TEST(Moments, OneThatBeginsInACruiseBeginsInStep) {
    const TextFile file("G21 G90\nG1 X190 F6000\n");
    const picture::Recording recording = recorded(machine_from(), file, {finding_at('X', 1.0)});
    ASSERT_EQ(recording.moments.size(), 1U);
    const auto& angles = recording.moments[0].angle_low_rad;
    const auto [least, greatest] = std::minmax_element(angles.begin(), angles.end());
    EXPECT_LT(*greatest - *least, 0.3F);
}

TEST(Moments, OfMorePulsesThanAreKeptItSaysSoAndSimulatesNone) {
    std::string text = changed("microsteps = 16", "microsteps = 256");
    text = changed("steps_per_mm = 80", "steps_per_mm = 1280", text);
    text = changed("steps_per_mm = 400", "steps_per_mm = 6400", text);
    const TextFile file("G21 G90\nG1 X190 F9000\n");
    const picture::Recording recording = recorded(machine_from(text), file, {finding_at('X', 0.7)});
    ASSERT_EQ(recording.moments.size(), 1U);
    const picture::MomentRecord& moment = recording.moments[0];
    EXPECT_TRUE(moment.cut);
    EXPECT_EQ(moment.rises.size(), picture::kMostPulses);
    EXPECT_TRUE(moment.angle_low_rad.empty());
}

}  // namespace
