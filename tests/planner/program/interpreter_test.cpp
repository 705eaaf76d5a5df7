#include <gtest/gtest.h>

#include <cmath>

#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

struct BadLine {
    std::string text;
    std::string id;
    std::uint64_t line;
    std::uint64_t column;
};

class BadWords : public testing::TestWithParam<BadLine> {};

TEST_P(BadWords, AreOneErrorAtTheirExactPlace) {
    const BadLine& bad = GetParam();
    const ReadResult result = read_text(bad.text);
    ASSERT_EQ(result.errors.size(), 1U) << bad.text;
    EXPECT_EQ(result.errors[0].id, bad.id) << bad.text;
    EXPECT_EQ(result.errors[0].place.line, bad.line) << bad.text;
    EXPECT_EQ(result.errors[0].place.column, bad.column) << bad.text;
}

INSTANTIATE_TEST_SUITE_P(Modes, BadWords,
                         testing::Values(BadLine{"G0 G1 X1", "program/modal-conflict", 1, 4},
                                         BadLine{"G90 X1 G91", "program/modal-conflict", 1, 8},
                                         BadLine{"G20 G21", "program/modal-conflict", 1, 5},
                                         BadLine{"M3 M5", "program/modal-conflict", 1, 4},
                                         BadLine{"X10", "program/no-motion", 1, 1},
                                         BadLine{"G0 X1\nG80\nX10", "program/no-motion", 3, 1},
                                         BadLine{"G92", "program/offset-words", 1, 1},
                                         BadLine{"G92 X1 G1 Y2", "program/axis-words", 1, 1},
                                         BadLine{"G28 G92 X1", "program/axis-words", 1, 1},
                                         BadLine{"G10 L2 P12 X1", "program/offset-words", 1, 8},
                                         BadLine{"G4 P-1", "program/bad-value", 1, 4},
                                         BadLine{"G4 X1", "program/dwell", 1, 1},
                                         BadLine{"G1 X1 F-5", "program/bad-feed", 1, 7},
                                         BadLine{"G93\nG1 X1", "program/inverse-time-feed", 2, 1},
                                         BadLine{"G93\nG1 X1 F0", "program/bad-feed", 2, 7},
                                         BadLine{"G1 X1 E5 F10", "program/missing-axis", 1, 7}));

INSTANTIATE_TEST_SUITE_P(
    Arcs, BadWords,
    testing::Values(BadLine{"F100\nG2 X10 Y0", "program/arc-centre", 2, 1},
                    BadLine{"F100\nG2 X10 Y0 I5 R5", "program/arc-centre", 2, 14},
                    BadLine{"F100\nG2 X10 Y0 I5 K1", "program/arc-centre", 2, 14},
                    BadLine{"F100\nG90.1 G2 X10 Y0 I5", "program/arc-centre", 2, 7},
                    BadLine{"F100\nG2 X0 Y0 R10", "program/arc-radius", 2, 10},
                    BadLine{"F100\nG2 X10 Y0 R4", "program/arc-radius", 2, 11},
                    BadLine{"F100\nG2 R4", "program/arc-radius", 2, 4},
                    BadLine{"F100\nG2 X10 Y0 I6", "program/arc-mismatch", 2, 1},
                    BadLine{"F100\nG2 X10 Y0 I0 J0", "program/arc-mismatch", 2, 1},
                    BadLine{"F100\nG2 X10 Y0 I5 P0", "program/arc-turns", 2, 14},
                    BadLine{"F100\nG2 X10 Y0 I5 P1e9", "program/exponent", 2, 14},
                    BadLine{"F100\nG2 X10 Y0 I5 P5000", "program/arc-turns", 2, 14},
                    BadLine{"F100\nG2 X10 Y0 I99999999", "program/number-too-large", 2, 1}));

INSTANTIATE_TEST_SUITE_P(
    Cycles, BadWords,
    testing::Values(BadLine{"F100\nG81 X1 Y1 R1", "program/cycle-words", 2, 1},
                    BadLine{"F100\nG81 X1 Y1 Z-1", "program/cycle-words", 2, 1},
                    BadLine{"F100\nG83 X1 Z-1 R1", "program/cycle-words", 2, 1},
                    BadLine{"F100\nG83 X1 Z-1 R1 Q0.0000001", "program/cycle-words", 2, 15},
                    BadLine{"F100\nG81 X1 Z-1 R1 L1.5", "program/cycle-words", 2, 15},
                    BadLine{"F100\nG81 X1 Z-1 R1 L999999", "program/cycle-words", 2, 15},
                    BadLine{"G93\nG81 X1 Z-1 R1 F1", "program/inverse-time-feed", 2, 1}));

double last_mm(const ReadResult& result, std::size_t slot) {
    return mm(result.commands.back().target_m[slot]);
}

TEST(Interpreter, MissingAxisIsReportedOncePerLetterAndNamesTheRemedy) {
    const ReadResult result = read_text("G1 X1 E1 F100\nG1 X2 E2\nG1 X3 A1 E3\n");
    ASSERT_EQ(result.errors.size(), 2U);
    EXPECT_NE(result.errors[0].hint.find("[axes.e]"), std::string::npos);
    EXPECT_NE(result.errors[0].hint.find("ignore_axes"), std::string::npos);
    EXPECT_NE(result.errors[1].hint.find("[axes.a]"), std::string::npos);
    EXPECT_EQ(result.commands.size(), 3U);
}

TEST(Interpreter, IgnoredAxisWordsAreSkippedOnPlainAndOtherLines) {
    ProgramSettings settings;
    settings.ignored_axes = "E";
    const ReadResult result =
        read_text("G92 E0\nG1 X1 E1 F100\nG1 E2\nG1 X2 E2 (note)\n", settings);
    EXPECT_TRUE(result.errors.empty());
    ASSERT_EQ(result.commands.size(), 2U);
    EXPECT_NEAR(last_mm(result, 0), 2.0, kRounding_mm);
}

TEST(Interpreter, InchesAndMillimetresGiveTheSamePlaceAndFeed) {
    const ReadResult inch = read_text("G20 G1 X1 F60");
    const ReadResult metric = read_text("G21 G1 X25.4 F1524");
    EXPECT_NEAR(inch.commands[0].target_m[0], metric.commands[0].target_m[0], 1e-17);
    EXPECT_NEAR(inch.commands[0].feed_m_s, 0.0254, 1e-17);
    EXPECT_NEAR(metric.commands[0].feed_m_s, 0.0254, 1e-17);
}

TEST(Interpreter, UnitOfTheMachineFileHoldsUntilTheProgramStatesOne) {
    ProgramSettings settings;
    settings.default_inches = true;
    const ReadResult result = read_text("G0 X1\nG21 G0 X1", settings);
    EXPECT_NEAR(mm(result.commands[0].target_m[0]), 25.4, kRounding_mm);
    EXPECT_NEAR(mm(result.commands[1].target_m[0]), 1.0, kRounding_mm);
    EXPECT_TRUE(result.notes.units_stated);
    EXPECT_FALSE(read_text("G0 X1").notes.units_stated);
}

TEST(Interpreter, FilamentHasItsOwnDistanceModeOnceAMappedWordSetsIt) {
    const ReadResult follows = read_text("G91\nG1 E1 F100\nG1 E1\n", printer());
    EXPECT_NEAR(last_mm(follows, 3), 2.0, kRounding_mm);
    const ReadResult relative = read_text("M7304\nG90\nG1 X5 E1 F100\nG1 X5 E1\n", printer());
    EXPECT_NEAR(last_mm(relative, 3), 2.0, kRounding_mm);
    EXPECT_NEAR(last_mm(relative, 0), 5.0, kRounding_mm);
    const ReadResult absolute = read_text("M7303\nG91\nG1 X5 E1 F100\nG1 X5 E1.5\n", printer());
    EXPECT_NEAR(last_mm(absolute, 3), 1.5, kRounding_mm);
    EXPECT_NEAR(last_mm(absolute, 0), 10.0, kRounding_mm);
}

TEST(Interpreter, ResettingFilamentMovesNothingAndLosesNothing) {
    const ReadResult result = read_text("G1 E3 F200\nG92 E0\nG1 E2\nG92 E0\nG1 E0.5\n", printer());
    ASSERT_EQ(result.commands.size(), 3U);
    EXPECT_NEAR(last_mm(result, 3), 5.5, kRounding_mm);
}

TEST(Interpreter, AccelerationWordOfTheMachineFileBecomesACommand) {
    const ReadResult result = read_text("M7301 S1000\nM7301 P1 S800 T2\nM7301\n", printer());
    ASSERT_TRUE(result.errors.empty());
    ASSERT_EQ(result.commands.size(), 2U);
    EXPECT_EQ(result.commands[0].kind, CommandKind::set_acceleration);
    EXPECT_DOUBLE_EQ(result.commands[0].acceleration_m_s2, 1.0);
    EXPECT_DOUBLE_EQ(result.commands[1].acceleration_m_s2, 0.8);
}

TEST(Interpreter, MappedWordsAreNotReportedAsUnknown) {
    ProgramSettings settings;
    settings.words = {{"M7302", {WordEffect::text}},
                      {"G7029", {WordEffect::ignore}},
                      {"M7311", {WordEffect::wait}},
                      {"COOL_PART", {WordEffect::ignore}}};
    const ReadResult result =
        read_text("M7302 Hello G1 X5\nG7029 X1\nM7311\nCOOL_PART X=1\n", settings);
    EXPECT_TRUE(result.errors.empty());
    EXPECT_TRUE(result.notes.unknown_words.empty());
    ASSERT_EQ(result.commands.size(), 1U);
    EXPECT_EQ(result.commands[0].kind, CommandKind::wait);
}

TEST(Interpreter, CoordinateSystemsShiftAndComeBack) {
    const ReadResult result = read_text(
        "G10 L2 P2 X10 Y20\nG54 G0 X1 Y1\nG55 G0 X1 Y1\nG53 G0 X1\nG0 X1\nG59.3 G0 X7\nG55 G10 L20 "
        "P2 X0\nG0 X1\n");
    ASSERT_TRUE(result.errors.empty());
    const std::vector<double> x_mm = {1, 11, 1, 11, 7, 8};
    ASSERT_EQ(result.commands.size(), x_mm.size());
    for (std::size_t i = 0; i < x_mm.size(); ++i) {
        EXPECT_NEAR(mm(result.commands[i].target_m[0]), x_mm[i], kRounding_mm) << i;
    }
}

TEST(Interpreter, WorkOffsetOfTheMachineFileIsProgramZero) {
    ProgramSettings settings;
    settings.work_offset_m = {0.1, 0.05, 0.0};
    const ReadResult result = read_text("G0 X10 Y-5\nG53 G0 X0", settings);
    EXPECT_NEAR(mm(result.commands[0].target_m[0]), 110.0, 1e-10);
    EXPECT_NEAR(mm(result.commands[0].target_m[1]), 45.0, 1e-10);
    EXPECT_EQ(result.commands[1].target_m[0], 0.0);
}

TEST(Interpreter, ShiftIsCancelledAndRestored) {
    const ReadResult result =
        read_text("G0 X4\nG92 X7\nG0 X8\nG92.2\nG0 X8\nG92.3\nG0 X8\nG92.1\nG92.3\nG0 X8");
    ASSERT_TRUE(result.errors.empty());
    const std::vector<double> x_mm = {4, 5, 8, 5, 8};
    for (std::size_t i = 0; i < x_mm.size(); ++i) {
        EXPECT_NEAR(mm(result.commands.at(i).target_m[0]), x_mm[i], kRounding_mm) << i;
    }
}

TEST(Interpreter, HomeGoesByTheIntermediatePointAndOnlyNamedAxesGoHome) {
    ProgramSettings settings = printer();
    settings.home_m = {0.2, 0.0, 0.0};
    settings.start_m = {0.01, 0.02, 0.03, 0.04};
    const ReadResult named = read_text("G28 X5 Z", settings);
    ASSERT_EQ(named.commands.size(), 2U);
    EXPECT_EQ(named.commands[0].target_m, (AxisArray{0.005, 0.02, 0.03, 0.04}));
    EXPECT_EQ(named.commands[1].target_m, (AxisArray{0.2, 0.02, 0.0, 0.04}));
    EXPECT_TRUE(named.commands[1].rapid);
    EXPECT_TRUE(named.commands[1].exact_stop);
    const ReadResult all = read_text("G28 W", settings);
    ASSERT_EQ(all.commands.size(), 1U);
    EXPECT_EQ(all.commands[0].target_m, (AxisArray{0.2, 0.0, 0.0, 0.04}));
    EXPECT_NE(find_spot(all, SpotKind::axis_flag_without_axis), nullptr);
    settings.home_all_axes = true;
    EXPECT_EQ(read_text("G28 X5", settings).commands.back().target_m,
              (AxisArray{0.2, 0.0, 0.0, 0.04}));
}

TEST(Interpreter, DwellIsInTheUnitOfTheMachineFile) {
    ProgramSettings settings;
    EXPECT_DOUBLE_EQ(read_text("G4 P1.5", settings).commands.at(0).seconds, 1.5);
    EXPECT_NE(find_spot(read_text("G4 P200", settings), SpotKind::long_dwell), nullptr);
    settings.dwell_unit_s = 0.001;
    EXPECT_DOUBLE_EQ(read_text("G4 P200", settings).commands.at(0).seconds, 0.2);
    EXPECT_EQ(find_spot(read_text("G4 P200", settings), SpotKind::long_dwell), nullptr);
}

TEST(Interpreter, FeedZeroOrUnsetMeansTheAxisLimitsAndIsNoted) {
    const ReadResult zero = read_text("G1 F0\nG1 X1\n");
    EXPECT_TRUE(std::isinf(zero.commands.at(0).feed_m_s));
    EXPECT_NE(find_spot(zero, SpotKind::zero_feed), nullptr);
    const ReadResult unset = read_text("G1 X1\n");
    EXPECT_TRUE(std::isinf(unset.commands.at(0).feed_m_s));
    EXPECT_FALSE(unset.commands.at(0).rapid);
    EXPECT_NE(find_spot(unset, SpotKind::feed_never_set), nullptr);
    EXPECT_FALSE(unset.notes.feed_stated);
    EXPECT_NE(find_spot(read_text("G20 G1 X1 F5000"), SpotKind::fast_feed), nullptr);
}

TEST(Interpreter, TraverseIsFastUnlessTheMachineDrawsWithIt) {
    EXPECT_TRUE(read_text("G0 X1 F600").commands.at(0).rapid);
    ProgramSettings settings;
    settings.rapid_is_feed = true;
    const ReadResult drawing = read_text("G0 F600\nG0 X1\n", settings);
    EXPECT_FALSE(drawing.commands.at(0).rapid);
    EXPECT_DOUBLE_EQ(drawing.commands.at(0).feed_m_s, 0.01);
    EXPECT_NE(find_spot(read_text("G0 Z-1 F600"), SpotKind::plunge_at_traverse), nullptr);
    EXPECT_EQ(find_spot(read_text("G0 Z1 F600"), SpotKind::plunge_at_traverse), nullptr);
}

TEST(Interpreter, StopSpindleCoolantAndToolWordsBringTheMachineToRest) {
    const ReadResult result =
        read_text("G1 X1 F100 M8\nM0\nT1 M6\nM3 M7 M8 S100\nG0 X2 M9\nM30\nG0 X9\n");
    ASSERT_TRUE(result.errors.empty());
    std::string kinds;
    for (const Command& command : result.commands) {
        kinds += command.kind == CommandKind::wait ? 'w' : 'l';
    }
    EXPECT_EQ(kinds, "wlwwwwlw");
    EXPECT_TRUE(result.notes.ended);
    EXPECT_EQ(find_spot(result, SpotKind::text_after_end)->first_line, 7U);
}

TEST(Interpreter, ProgramEndsAtTheSecondPercentSign) {
    const ReadResult result = read_text("%\nO1000 (name)\nG0 X1\n%\nG0 X2\n");
    EXPECT_TRUE(result.errors.empty());
    EXPECT_EQ(result.commands.size(), 1U);
    EXPECT_TRUE(result.notes.ended);
}

TEST(Interpreter, ExactStopModeStopsAtEveryMove) {
    const ReadResult result = read_text("G61.1\nG1 X1 F100\nG64 P0.1\nG1 X2\n");
    EXPECT_TRUE(result.commands.at(0).exact_stop);
    EXPECT_FALSE(result.commands.at(1).exact_stop);
    EXPECT_TRUE(result.notes.spots.empty());
}

TEST(Interpreter, InverseTimeGivesTheMoveItsDuration) {
    const ReadResult result = read_text("G93 G1 X10 F2\nG2 X20 R5 F4\nG0 X0\nG94 G1 X1 F60\n");
    ASSERT_TRUE(result.errors.empty());
    EXPECT_DOUBLE_EQ(result.commands.at(0).inverse_time_s, 30.0);
    EXPECT_DOUBLE_EQ(result.commands.at(1).inverse_time_s, 15.0);
    EXPECT_TRUE(result.commands.at(2).rapid);
    EXPECT_EQ(result.commands.at(3).inverse_time_s, 0.0);
    EXPECT_DOUBLE_EQ(result.commands.at(3).feed_m_s, 0.001);
}

TEST(Interpreter, SmallArcMismatchIsANoteNotAnError) {
    EXPECT_TRUE(read_text("F100\nG2 X10.004 Y0 I5").notes.spots.empty());
    const ReadResult noted = read_text("F100\nG2 X10.02 Y0 I5");
    EXPECT_TRUE(noted.errors.empty());
    EXPECT_NE(find_spot(noted, SpotKind::arc_radius_mismatch), nullptr);
    EXPECT_EQ(noted.commands.size(), 1U);
    EXPECT_TRUE(read_text("F100\nG2 X10 R4.9999").errors.empty());
}

TEST(Interpreter, OneBadArcIsOneError) {
    EXPECT_EQ(read_text("F100\nG2 X10 Y0 I6\nG2 X0 Y0 I-5\nG1 X5\n").errors.size(), 1U);
}

TEST(Interpreter, CompensationIsAnErrorOnceALineAndTheLineMovesOn) {
    for (const char* word : {"G41", "G42", "G41.1", "G42.1"}) {
        const ReadResult result = read_text("F100\n" + std::string(word) + " G1 X5 D1\nX10\n");
        ASSERT_EQ(result.errors.size(), 1U) << word;
        EXPECT_EQ(result.errors[0].id, "program/compensation");
        EXPECT_EQ(result.errors[0].found, word);
        EXPECT_NE(result.errors[0].hint.find("cutter_compensation"), std::string::npos);
        EXPECT_EQ(result.commands.size(), 2U);
    }
}

TEST(Interpreter, ToolLengthsOfTheMachineFileLiftZ) {
    ProgramSettings settings;
    settings.tool_lengths_m = {{2, 0.03}};
    const ReadResult result = read_text(
        "G43 H2\nG0 Z1\nG53 G0 Z1\nG49\nG0 Z2\nG43.1 X1 Z5\nG0 X0 Z0\nG92 Z10\nG0 Z11\nG49\nG0 "
        "Z11\nG43 "
        "H0\nZ5",
        settings);
    ASSERT_TRUE(result.errors.empty());
    const std::vector<double> z_mm = {31, 1, 2, 5, 6, 1, -5};
    ASSERT_EQ(result.commands.size(), z_mm.size());
    for (std::size_t i = 0; i < z_mm.size(); ++i) {
        EXPECT_NEAR(mm(result.commands[i].target_m[2]), z_mm[i], kRounding_mm) << i;
    }
    EXPECT_NEAR(mm(result.commands[3].target_m[0]), 1.0, kRounding_mm);
    EXPECT_TRUE(result.notes.spots.empty());
    EXPECT_NE(find_spot(read_text("G43 H3", settings), SpotKind::tool_length_ignored), nullptr);
    EXPECT_EQ(read_text("G43.1 G0 Z5").errors.at(0).id, "program/offset-words");
    EXPECT_EQ(read_text("G43.1").errors.at(0).id, "program/offset-words");
}

TEST(Interpreter, LocalShiftIsAddedToTheWorkOffset) {
    const ReadResult result = read_text(
        "G10 L2 P1 X10\nG52 X5\nG0 X1\nG55 X1\nG54 G52 X0\nG0 X1\nG92 X0\nG0 X1\nG92.1\nX1");
    ASSERT_TRUE(result.errors.empty());
    const std::vector<double> x_mm = {16, 6, 11, 12, 11};
    ASSERT_EQ(result.commands.size(), x_mm.size());
    for (std::size_t i = 0; i < x_mm.size(); ++i) {
        EXPECT_NEAR(mm(result.commands[i].target_m[0]), x_mm[i], kRounding_mm) << i;
    }
    EXPECT_EQ(read_text("G52 X5\nG92 X0").errors.at(0).id, "program/offset-words");
    EXPECT_EQ(read_text("G92 X5\nG52 X1").errors.at(0).id, "program/offset-words");
    EXPECT_EQ(read_text("G52").errors.at(0).id, "program/offset-words");
}

TEST(Interpreter, BackBoringStepsAsideToPassTheHole) {
    const ReadResult result = read_text("F100\nG0 Z5\nG98 G87 X10 Y20 Z-8 R1 I2 J1 K-3\n");
    ASSERT_TRUE(result.errors.empty());
    std::string path;
    for (const Command& command : result.commands) {
        if (command.kind != CommandKind::line) continue;
        path += (command.rapid ? "r" : "f");
        for (const std::size_t slot : {0U, 1U, 2U})
            path += ' ' + std::to_string(std::lround(mm(command.target_m[slot])));
        path += '\n';
    }
    EXPECT_EQ(
        path,
        "r 0 0 5\nr 10 20 5\nr 10 20 1\nr 12 21 1\nr 12 21 -8\nr 10 20 -8\nf 10 20 -3\nf 10 20 "
        "-8\nr 12 21 -8\nr 12 21 5\nr 10 20 5\n");
    EXPECT_EQ(read_text("F100\nG87 X1 Z-8 R1").errors.at(0).id, "program/cycle-words");
}

TEST(Interpreter, WhatIsNotSimulatedInFullIsNoted) {
    ProgramSettings settings;
    settings.compensation_as_written = true;
    const ReadResult result =
        read_text("G41 D1\nG43 H2\nG40 G49\nG38.2 Z-1 F10\nG38.5 Z-2\n", settings);
    EXPECT_TRUE(result.errors.empty());
    EXPECT_NE(find_spot(result, SpotKind::compensation_ignored), nullptr);
    EXPECT_NE(find_spot(result, SpotKind::tool_length_ignored), nullptr);
    EXPECT_NE(find_spot(result, SpotKind::probe_as_feed), nullptr);
}

std::string z_path(const ReadResult& result) {
    std::string path;
    for (const Command& command : result.commands) {
        if (command.kind == CommandKind::dwell) {
            path += "P ";
        } else if (command.kind == CommandKind::line) {
            path += (command.rapid ? "r" : "f") +
                    std::to_string(std::lround(mm(command.target_m[2]) * 10.0)) + ' ';
        } else {
            path += "w ";
        }
    }
    return path;
}

TEST(Interpreter, DrillingCyclesAreTheMovesOfTheStandard) {
    const std::string start =
        "F100\nG0 Z5\n";  // z in tenths of a millimetre below: r rapid, f feed, P dwell, w wait
    EXPECT_EQ(z_path(read_text(start + "G81 X1 Z-2 R1\nX2\n")),
              "r50 r50 r10 f-20 r50 r50 r10 f-20 r50 ");
    EXPECT_EQ(z_path(read_text(start + "G99 G81 X1 Z-2 R1\nX2\n")),
              "r50 r50 r10 f-20 r10 r10 f-20 r10 ");
    EXPECT_EQ(z_path(read_text(start + "G82 X1 Z-2 R1 P1\n")), "r50 r50 r10 f-20 P r50 ");
    EXPECT_EQ(z_path(read_text(start + "G85 X1 Z-2 R1\n")), "r50 r50 r10 f-20 f10 r50 ");
    EXPECT_EQ(z_path(read_text(start + "G86 X1 Z-2 R1 P0\n")), "r50 r50 r10 f-20 P w r50 w ");
    EXPECT_EQ(z_path(read_text(start + "G89 X1 Z-2 R1 P1\n")), "r50 r50 r10 f-20 P f10 r50 ");
    EXPECT_EQ(z_path(read_text(start + "G83 X1 Z-2 R1 Q2\n")),
              "r50 r50 r10 f-10 r10 r-7 f-20 r50 ");
    EXPECT_EQ(z_path(read_text(start + "G73 X1 Z-2 R1 Q2\n")), "r50 r50 r10 f-10 r-7 f-20 r50 ");
    EXPECT_EQ(z_path(read_text("F100\nG81 X1 Z-2 R1\n")), "r10 r10 f-20 r10 ");
}

TEST(Interpreter, IncrementalCycleRepeatsAlongTheRow) {
    const ReadResult result = read_text("F100\nG0 Z5\nG91 G99 G81 X2 Z-3 R-4 L3\n");
    ASSERT_TRUE(result.errors.empty());
    EXPECT_EQ(z_path(result), "r50 r50 r10 f-20 r10 r10 f-20 r10 r10 f-20 r10 ");
    EXPECT_NEAR(last_mm(result, 0), 6.0, kRounding_mm);
}

TEST(Interpreter, MotionWordEndsACycle) {
    const ReadResult result = read_text("F100\nG81 X1 Z-2 R1\nG0 X5\nX6\nG80\n");
    EXPECT_TRUE(result.errors.empty());
    EXPECT_NEAR(last_mm(result, 0), 6.0, kRounding_mm);
    EXPECT_EQ(result.commands.size(), 6U);
}

}  // namespace
}  // namespace planner::test
