#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "stepper_sim/run/plan_file.hpp"
#include "stepper_sim/run/run_program.hpp"
#include "tests/stepper_sim/samples.hpp"
#include "tests/stepper_sim/temp_folder.hpp"

namespace {

using namespace stepper_sim;
using namespace stepper_sim::samples;

const std::string kProgram =
    "G21 G90\nG1 X40 F3000\nG2 X60 Y20 I10 J10\nG4 P0.5\nM9999\nG1 X0 Y0\nG4 P2\n";

struct Planned {
    std::vector<planner::MotorMove> moves;
    run::PlannedFile end;
};

Planned planned(const machine::Machine& machine, const run::ProgramSource& program) {
    Planned out;
    auto end = run::plan_file(machine, program, [&](std::span<const planner::MotorMove> moves) {
        out.moves.insert(out.moves.end(), moves.begin(), moves.end());
        return true;
    });
    EXPECT_TRUE(end);
    out.end = end.value();
    return out;
}

TEST(ReadOnce, TheFileIsNeededNoMoreAndNothingElseChanges) {
    const machine::Machine machine = machine_from(std::string(kBench));
    const TempFolder folder;
    const run::ProgramSource file(folder.write("part.gcode", kProgram));
    const Planned before = planned(machine, file);
    const auto kept = run::read_once(machine, file);
    ASSERT_TRUE(kept);
    std::filesystem::remove(file.file());
    ASSERT_FALSE(run::plan_file(machine, file, [](auto) { return true; }));
    const Planned after = planned(machine, kept.value());
    ASSERT_EQ(after.moves.size(), before.moves.size());
    for (std::size_t i = 0; i < before.moves.size(); ++i) {
        EXPECT_EQ(after.moves[i].line, before.moves[i].line);
        EXPECT_EQ(after.moves[i].motor_end_m, before.moves[i].motor_end_m);
        EXPECT_EQ(after.moves[i].profile.duration_s, before.moves[i].profile.duration_s);
    }
    EXPECT_EQ(after.end.trailing_rest_s, before.end.trailing_rest_s);
    EXPECT_EQ(after.end.notes.lines, before.end.notes.lines);
    EXPECT_EQ(after.end.notes.unknown_words.size(), before.end.notes.unknown_words.size());
    EXPECT_EQ(after.end.notes.unknown_words.size(), 1U);
    EXPECT_FALSE(kept.value().made_up());
}

TEST(ReadOnce, WhatIsTooLongIsReadAgain) {
    const machine::Machine machine = machine_from(std::string(kBench));
    const TempFolder folder;
    const run::ProgramSource file(folder.write("part.gcode", kProgram));
    const std::size_t count = planned(machine, file).moves.size();
    const auto too_long = run::read_once(machine, file, count - 1);
    ASSERT_TRUE(too_long);
    EXPECT_EQ(too_long.value().moves(), nullptr);
    EXPECT_EQ(planned(machine, too_long.value()).moves.size(), count);
    const auto just = run::read_once(machine, file, count);
    ASSERT_TRUE(just);
    EXPECT_NE(just.value().moves(), nullptr);
}

TEST(ReadOnce, ErrorsAreThoseOfAllPrograms) {
    const machine::Machine machine = machine_from(std::string(kBench));
    const TempFolder folder;
    const std::vector<run::ProgramSource> programs{folder.write("bad.gcode", "G1 X1 F\n"),
                                                   folder.write("good.gcode", kProgram),
                                                   folder.path() / "none.gcode"};
    const auto read = run::read_once(machine, programs);
    ASSERT_FALSE(read);
    ASSERT_EQ(read.diagnostics().size(), 2U);
    EXPECT_NE(planner::to_line(read.diagnostics()[0]).find("bad.gcode:1:"), std::string::npos);
    EXPECT_NE(planner::to_line(read.diagnostics()[1]).find("none.gcode"), std::string::npos);
}

}  // namespace
