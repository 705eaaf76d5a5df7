/// Reading and planning beside the caller: what the caller sees does not depend on threads.
#include "stepper_sim/run/plan_file.hpp"

#include <gtest/gtest.h>
#include <oneapi/tbb/global_control.h>

#include <algorithm>
#include <chrono>
#include <thread>
#include <tuple>
#include <utility>
#include <vector>

#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

constexpr int kMoves = 20'000;  // ten blocks of text

std::string long_program() {
    std::string text = "G21 G90\nG1 F3000\n";
    for (int i = 0; i < kMoves; ++i)
        text += "X" + std::to_string(50 + i * 37 % 100) + " Y" + std::to_string(i % 90) + "\n";
    return text;
}

using Seen = std::vector<std::tuple<std::uint64_t, double, double, double>>;

Seen moves_of(const machine::Machine& machine, const TextFile& file) {
    Seen seen;
    const auto planned =
        run::plan_file(machine, file.path(), [&](std::span<const planner::MotorMove> moves) {
            for (const planner::MotorMove& move : moves)
                seen.emplace_back(move.line, move.start.seconds(), move.profile.duration_s,
                                  move.motor_end_m[0]);
            return true;
        });
    EXPECT_TRUE(planned);
    return seen;
}

TEST(PlanFile, HandsOnTheSameMovesInOrderOnAnyNumberOfThreads) {
    const machine::Machine machine = machine_from();
    const TextFile file(long_program());
    Seen first;
    for (const std::size_t threads : {1U, 2U, 4U}) {
        const tbb::global_control limit(tbb::global_control::max_allowed_parallelism, threads);
        const Seen seen = moves_of(machine, file);
        ASSERT_EQ(seen.size(), static_cast<std::size_t>(kMoves));
        if (first.empty()) first = seen;
        EXPECT_EQ(seen, first) << threads << " threads";
    }
}

TEST(PlanFile, ALoopGivesTheMovesOfTheSameLinesWrittenOutAndInSmallPieces) {
    const machine::Machine machine = machine_from();
    constexpr int kTimes = 20'000;
    constexpr std::size_t kMostAtOnce = 5'000;  // a block of text gives about 500
    std::string written_out = "G21 G90 G1 F3000 X50 Y50\nG91\n";
    const TextFile loop(written_out + "O1 repeat [20000]\nX1 Y2\nX-1 Y-2\nO1 endrepeat\n");
    for (int i = 0; i < kTimes; ++i)
        written_out += "X1 Y2\nX-1 Y-2\n";
    std::vector<double> durations;
    std::size_t most = 0;
    const auto collect = [&](std::span<const planner::MotorMove> moves) {
        most = std::max(most, moves.size());
        for (const planner::MotorMove& move : moves)
            durations.push_back(move.profile.duration_s);
        return true;
    };
    ASSERT_TRUE(run::plan_file(machine, loop.path(), collect));
    EXPECT_LT(most, kMostAtOnce);
    const std::vector<double> looped = std::exchange(durations, {});
    const TextFile plain(written_out);
    ASSERT_TRUE(run::plan_file(machine, plain.path(), collect));
    EXPECT_EQ(looped.size(), 2U * kTimes + 1U);
    EXPECT_EQ(looped, durations);
}

TEST(PlanFile, AProgramThatNeverEndsIsAnError) {
    const machine::Machine machine = machine_from();
    const TextFile file("G21 G90 G1 F3000 X50 Y50\nO1 while [1]\nG4 P0\nO1 endwhile\n");
    const auto planned = run::plan_file(machine, file.path(), [](auto) { return true; });
    ASSERT_FALSE(planned);
    EXPECT_EQ(planned.diagnostics().front().id, "program/endless");
    EXPECT_EQ(planned.diagnostics().size(), 1U);
}

TEST(PlanFile, AnArcCoarserThanItsToleranceIsToldWithItsLine) {
    const machine::Machine machine = machine_from();
    const auto spots = [&](const char* text) {
        const TextFile file(text);
        const auto planned = run::plan_file(machine, file.path(), [](const auto&) { return true; });
        return planned ? planned.value().notes.spots : std::vector<planner::Spot>{};
    };
    EXPECT_TRUE(spots("G21 G90 G0 X10 Y50\nG1 F3000 X20\nG2 I5 P900\n").empty());
    const auto coarse = spots("G21 G90 G0 X10 Y50\nG1 F3000 X20\nG2 I90 P999\nG2 I90 P999\n");
    ASSERT_EQ(coarse.size(), 1U);
    EXPECT_EQ(coarse.front().kind, planner::SpotKind::coarse_arc);
    EXPECT_EQ(coarse.front().count, 2U);
    EXPECT_EQ(coarse.front().first_line, 3U);
}

TEST(PlanFile, AFewLinesOfLongArcsAreHandedOnInSmallPieces) {
    machine::Machine machine = machine_from();
    machine.planning.arc_tolerance = planner::from_si<planner::Length>(1e-9);
    std::string text = "G21 G90 G0 X50 Y50\nF3000\n";
    for (int i = 0; i < 10; ++i)
        text += "G2 I20 P2\n";
    const TextFile file(text);
    std::size_t all = 0, largest = 0;
    const auto planned =
        run::plan_file(machine, file.path(), [&](std::span<const planner::MotorMove> moves) {
            all += moves.size();
            largest = std::max(largest, moves.size());
            return true;
        });
    ASSERT_TRUE(planned);
    EXPECT_GT(all, 150'000U);
    // The look-ahead may hold some back, never a program.
    EXPECT_LT(largest, 20'000U);
}

TEST(PlanFile, AMistakeAfterWhatTheCallerWantedIsNotItsBusiness) {
    const machine::Machine machine = machine_from();
    const TextFile file(long_program() + "G1 X1 X2\n");
    constexpr int kWanted = 9;
    for (int run = 0; run < 5; ++run) {
        int calls = 0;
        const auto planned =
            run::plan_file(machine, file.path(), [&](std::span<const planner::MotorMove> moves) {
                if (++calls < kWanted || moves.empty()) return true;
                // The reader comes to the mistake meanwhile.
                std::this_thread::sleep_for(std::chrono::milliseconds(50));
                return false;
            });
        EXPECT_TRUE(planned) << planner::to_line(planned.diagnostics().front());
        EXPECT_EQ(calls, kWanted);
    }
    const auto all = run::plan_file(machine, file.path(), [](auto) { return true; });
    ASSERT_FALSE(all);
    EXPECT_EQ(all.diagnostics().front().id, "program/repeated-word");
}

}  // namespace
