// RS274/NGC rules and positions.
// Source: T. Kramer, F. Proctor, E. Messina, The NIST RS274/NGC Interpreter - Version 3, NISTIR
// 6556, August 2000. Only its title page and abstract were READ (nist.gov publication 823374);
// every rule below is from memory unless marked otherwise. Arithmetic marked "by hand" needs no
// source.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "planner/path/path_builder.hpp"
#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

// Decimal millimetres divided by 1000 once, then sines: a few units in the last place of 0.05 m.
constexpr double kExact_mm = 1e-12;
// Lengths are measured along chords; at 1 nm tolerance on 5 mm and more a polygon is short by under
// 1e-7 of its arc.
constexpr double kChordTolerance_m = 1e-9;
constexpr double kPolygon = 1e-6;

ProgramSettings standard_tolerance() {
    ProgramSettings settings;
    settings.arc_radius_tolerance_m = 2e-6;  // the report's 0.002 mm
    return settings;
}

struct Outcome {
    ReadResult read;
    std::vector<Move> moves;
    AxisArray end_m{};
    double length_mm = 0.0;
};

Outcome run(std::string_view text, const ProgramSettings& settings = standard_tolerance()) {
    Outcome outcome;
    outcome.read = read_text(text, settings);
    PathBuilder builder(settings, from_si<Length>(kChordTolerance_m));
    builder.push(outcome.read.commands, outcome.moves);
    outcome.end_m = builder.position_m();
    for (const Move& move : outcome.moves) {
        outcome.length_mm += mm(move.length_m);
    }
    return outcome;
}

bool refused(std::string_view text) {
    return !read_text(text, standard_tolerance()).errors.empty();
}

void expect_end(const Outcome& outcome, double x_mm, double y_mm, double z_mm = 0.0) {
    EXPECT_TRUE(outcome.read.errors.empty());
    EXPECT_NEAR(mm(outcome.end_m[0]), x_mm, kExact_mm);
    EXPECT_NEAR(mm(outcome.end_m[1]), y_mm, kExact_mm);
    EXPECT_NEAR(mm(outcome.end_m[2]), z_mm, kExact_mm);
}

double sweep_deg(const Outcome& outcome) {
    const ArcShape& arc = outcome.read.commands.back().arc;
    double sweep_rad = 0.0;
    for (const Move& move : outcome.moves) {
        if (move.line != outcome.read.commands.back().line) {
            continue;
        }
        const double u0 = move.start_m[0] - arc.centre_first_m,
                     v0 = move.start_m[1] - arc.centre_second_m;
        const double u1 = move.end_m[0] - arc.centre_first_m,
                     v1 = move.end_m[1] - arc.centre_second_m;
        sweep_rad += std::atan2(u0 * v1 - v0 * u1, u0 * u1 + v0 * v1);
    }
    return std::fabs(sweep_rad) * 180.0 / std::numbers::pi;
}

// Section 3.5.3.2 example, from memory: centre (10, 11), radius 5, end on the circle.
TEST(NgcRules, CentreFormatExampleHasItsPublishedCentreAndRadius) {
    const Outcome outcome = run("G0 X7 Y7\nG17 G2 x10 y16 i3 j4 z9 F100");
    expect_end(outcome, 10, 16, 9);
    const ArcShape& arc = outcome.read.commands.back().arc;
    EXPECT_NEAR(mm(arc.centre_first_m), 10.0, kExact_mm);
    EXPECT_NEAR(mm(arc.centre_second_m), 11.0, kExact_mm);
    EXPECT_NEAR(std::hypot(7.0 - mm(arc.centre_first_m), 7.0 - mm(arc.centre_second_m)), 5.0,
                kExact_mm);
}

// By hand: 143.1301024 deg, 12.49045772 mm, 12.64956656 mm with 2 mm of rise.
TEST(NgcRules, CentreFormatExampleHasItsSweepAndLength) {
    const Outcome flat = run("G92 X7 Y7\nG2 X10 Y16 I3 J4 F100");
    constexpr double kPrinted_deg = 0.00014;  // rounding of the reference's tolerance field
    EXPECT_NEAR(sweep_deg(flat), 143.1301024, kPrinted_deg);
    EXPECT_NEAR(flat.length_mm / 12.49045772, 1.0, kPolygon);
    EXPECT_NEAR(run("G92 X7 Y7\nG2 X10 Y16 Z2 I3 J4 F100").length_mm / 12.64956656, 1.0, kPolygon);
}

// Section 3.5.3.1, from memory: R > 0 sweeps up to half a turn, R < 0 more.
TEST(NgcRules, SignOfTheRadiusChoosesTheSweep) {
    const auto centre_of = [](const Outcome& outcome) {
        const ArcShape& arc = outcome.read.commands.back().arc;
        return std::pair{std::round(mm(arc.centre_first_m) * 1e9) / 1e9,
                         std::round(mm(arc.centre_second_m) * 1e9) / 1e9};
    };
    const Outcome right = run("G2 X10 Y10 R10 F100");
    const Outcome large = run("G2 X10 Y10 R-10 F100");
    const Outcome left = run("G3 X10 Y10 R10 F100");
    EXPECT_EQ(centre_of(right), (std::pair{10.0, 0.0}));
    EXPECT_EQ(centre_of(large), (std::pair{0.0, 10.0}));
    EXPECT_EQ(centre_of(left), (std::pair{0.0, 10.0}));
    constexpr double kRounding_deg = 1e-9;
    EXPECT_NEAR(sweep_deg(right), 90.0, kRounding_deg);
    EXPECT_NEAR(sweep_deg(large), 270.0, kRounding_deg);
    EXPECT_NEAR(sweep_deg(left), 90.0, kRounding_deg);
    EXPECT_NEAR(right.length_mm / 15.7079633, 1.0, kPolygon);
    EXPECT_NEAR(large.length_mm / 47.1238898, 1.0, kPolygon);
}

// Section 3.5.19, from memory: under G93, F2.0 means the move takes half a minute.
TEST(NgcRules, InverseTimeFeedOfTwoTakesHalfAMinute) {
    const Outcome outcome = run("G93 G1 X10 F2.0");
    EXPECT_DOUBLE_EQ(outcome.moves.at(0).length_m / outcome.moves.at(0).feed_m_s, 30.0);
}

// Section 3.5.18, from memory: at X4, G92 X7 shifts the origin by -3 and moves nothing.
TEST(NgcRules, AxisOffsetShiftsTheOriginAndMovesNothing) {
    const Outcome outcome = run("G1 X4 F600\nG92 X7\nG90 G1 X8");
    expect_end(outcome, 5, 0);
    ASSERT_EQ(outcome.moves.size(), 2U);
    EXPECT_NEAR(mm(outcome.moves[1].length_m), 1.0, kExact_mm);
}

// By hand: 1 in = 25.4 mm exactly; F60 in inches is 25.4 mm/s, the same as F1524 in millimetres.
TEST(NgcRules, InchesAreExactlyTwentyFivePointFourMillimetres) {
    const Outcome inch = run("G20 G1 X1 F60");
    const Outcome metric = run("G21 G1 X25.4 F1524");
    expect_end(inch, 25.4, 0);
    expect_end(metric, 25.4, 0);
    EXPECT_NEAR(mm(inch.moves.at(0).feed_m_s), 25.4, kExact_mm);
    EXPECT_NEAR(mm(metric.moves.at(0).feed_m_s), 25.4, kExact_mm);
}

// Arithmetic by hand, the meaning of the words from memory (sections 3.5.1 to 3.5.5).
TEST(NgcRules, ShortProgramsEndWhereHandArithmeticSays) {
    const Outcome line = run("G1 X30 Y40 F3000");
    expect_end(line, 30, 40);
    EXPECT_NEAR(line.moves.at(0).length_m / line.moves.at(0).feed_m_s, 1.0, kExact_mm);
    const Outcome steps = run("G91 G1 X10 F600\nX10 Y5");
    expect_end(steps, 20, 5);
    EXPECT_NEAR(mm(steps.moves.at(1).length_m), std::sqrt(125.0), kExact_mm);
    const Outcome clockwise = run("G2 X10 Y10 I10 J0 F600");
    expect_end(clockwise, 10, 10);
    EXPECT_NEAR(clockwise.length_mm / 15.7079633, 1.0, kPolygon);
    EXPECT_NEAR(run("G3 X10 Y10 I0 J10 F600").length_mm / 15.7079633, 1.0, kPolygon);
    const Outcome turn = run("G2 X0 Y0 I5 J0 Z2 F600");
    expect_end(turn, 0, 0, 2);
    EXPECT_NEAR(turn.length_mm / std::sqrt(100.0 * std::numbers::pi * std::numbers::pi + 4.0), 1.0,
                kPolygon);
    EXPECT_DOUBLE_EQ(run("G4 P1.5").read.commands.at(0).seconds, 1.5);
}

// The plane ZX is seen from +Y, so that a naive reading of X and Z swaps G2 and G3 (section 3.5.3,
// from memory).
TEST(NgcRules, PlaneZxIsSeenFromPlusY) {
    const Outcome left = run("G18 G3 X10 Z10 I10 K0 F600");
    const Outcome right = run("G18 G2 X10 Z10 I10 K0 F600");
    expect_end(left, 10, 0, 10);
    expect_end(right, 10, 0, 10);
    EXPECT_NEAR(left.length_mm / 15.7079633, 1.0, kPolygon);
    EXPECT_NEAR(right.length_mm / 47.1238898, 1.0, kPolygon);
    const Outcome yz = run("G19 G2 Y10 Z10 J10 F600");
    expect_end(yz, 0, 10, 10);
    EXPECT_NEAR(yz.length_mm / 15.7079633, 1.0, kPolygon);
}

// Section 3.8, table 8, from memory: modes and feed count for the move on their own line, wherever
// they stand on it.
TEST(NgcRules, OrderOfWordsOnALineDoesNotMatter) {
    const Outcome outcome = run("G0 X1\nG91 X5 G1 F600");
    expect_end(outcome, 6, 0);
    EXPECT_NEAR(mm(outcome.moves.at(1).feed_m_s), 10.0, kExact_mm);
    expect_end(run("F600\nX1 G1 G20"), 25.4, 0);
}

// Section 3.5.16.2 to 3.5.16.3, from memory: the worked canned cycle. From (1, 2, 3), absolute: X4
// Y5 Z1.5 R2.8.
TEST(NgcRules, DrillingExampleMakesItsPublishedMoves) {
    const Outcome outcome = run("G92 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8 F100");
    ASSERT_TRUE(outcome.read.errors.empty());
    // traverse to (4, 5, 3), traverse to (4, 5, 2.8), feed to (4, 5, 1.5), traverse to (4, 5, 3)
    const std::vector<std::array<double, 3>> ends = {
        {4, 5, 3}, {4, 5, 2.8}, {4, 5, 1.5}, {4, 5, 3}};
    ASSERT_EQ(outcome.moves.size(), ends.size());
    for (std::size_t i = 0; i < ends.size(); ++i) {
        EXPECT_NEAR(mm(outcome.moves[i].end_m[0]) + 1.0, ends[i][0], kExact_mm) << i;
        EXPECT_NEAR(mm(outcome.moves[i].end_m[1]) + 2.0, ends[i][1], kExact_mm) << i;
        EXPECT_NEAR(mm(outcome.moves[i].end_m[2]) + 3.0, ends[i][2], kExact_mm) << i;
        EXPECT_EQ(outcome.moves[i].rapid, i != 2) << i;
    }
}

// The second example of that section, from memory: incremental with L3 drills at (5, 7), (9, 12)
// and (13, 17), z from 4.8 to 4.2.
TEST(NgcRules, IncrementalDrillingExampleRepeatsThreeTimes) {
    const Outcome outcome = run("G92 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 F100");
    ASSERT_TRUE(outcome.read.errors.empty());
    std::vector<std::array<double, 3>> bottoms;
    for (const Move& move : outcome.moves) {
        if (!move.rapid) {
            bottoms.push_back(
                {mm(move.end_m[0]) + 1.0, mm(move.end_m[1]) + 2.0, mm(move.end_m[2]) + 3.0});
        }
    }
    ASSERT_EQ(bottoms.size(), 3U);
    for (std::size_t i = 0; i < bottoms.size(); ++i) {
        const auto n = static_cast<double>(i);
        EXPECT_NEAR(bottoms[i][0], 5.0 + 4.0 * n, kExact_mm);
        EXPECT_NEAR(bottoms[i][1], 7.0 + 5.0 * n, kExact_mm);
        EXPECT_NEAR(bottoms[i][2], 4.2, kExact_mm);
    }
}

// Section 3.3.2.3, from memory: "2 ** 3 - 3 * 4 / 6" style precedence; the report's own example
// [2.0 / 3 * 1.5 - 5.5 / 11.0] is 0.5.
TEST(NgcRules, ExpressionExampleHasItsPublishedValue) {
    expect_end(run("G0 X[2.0 / 3 * 1.5 - 5.5 / 11.0]"), 0.5, 0);
}

// Section 3.3.2.1, from memory: parameters take their value after the line; "#3=6 G1 X#3" with
// #3=15 before moves to 15.
TEST(NgcRules, ParameterSettingTakesEffectAfterItsLine) {
    expect_end(run("#3=15\n#3=6 G1 X#3 F100"), 15, 0);
}

// Section 3.3.2, from memory: "g0x +0. 12 34y 7" is legal there. We refuse the split number: people
// who leave a blank mean two words.
TEST(NgcRules, NumberSplitByBlanksIsRefusedThoughTheReportAllowsIt) {
    EXPECT_TRUE(refused("g0x +0. 12 34y 7"));
    expect_end(run("g0x +0.1234y 7"), 0.1234, 7);
}

// Error conditions the report lists, all from memory.
TEST(NgcRules, ErrorsOfTheReportAreErrorsHere) {
    for (const char* text : {
             "G0 G1 X1",
             "G17 G18",
             "G90 G91",
             "G93 G94",
             "G20 G21",
             "M3 M4",              // two words of one modal group
             "G1 X1 X2 F100",      // a letter twice
             "G92 X1 G1 Y2 F100",  // two words that use the axis words
             "G80\nX1",            // axis words and no motion
             "G93 G1 X1",          // inverse time without F
             "F100\nG2 X10 Y0",
             "F100\nG2 X10 Y0 I5 K1",     // centre words missing or of another plane
             "F100\nG2 X10.05 Y0 I5 J0",  // radii that differ
             "F100\nG2 R5",
             "F100\nG2 X0 Y0 R10",
             "F100\nG2 X10 Y0 R4",     // radius format
             "F100\nG2 X10 Y0 I5 R5",  // both formats
             "G4 P-1",
             "G92",
             "G1 X1 F-5",
             "(open",  // values and comments
         }) {
        EXPECT_TRUE(refused(text)) << text;
    }
}

// The report refuses these; real programs hold them and people mean them, so they are read and
// noted (see program_notes.hpp).
TEST(NgcRules, LeniencesAreNotedNeverSilent) {
    const auto noted = [](const char* text, SpotKind kind) {
        const ReadResult result = read_text(text, standard_tolerance());
        return result.errors.empty() && find_spot(result, kind) != nullptr;
    };
    EXPECT_TRUE(noted("G4", SpotKind::dwell_without_time));
    EXPECT_TRUE(noted("G1 X1 F0", SpotKind::zero_feed));
    EXPECT_TRUE(noted("G1 X1", SpotKind::feed_never_set));
    EXPECT_TRUE(noted("M3 S-1", SpotKind::negative_unused));
    EXPECT_TRUE(noted("T-1", SpotKind::negative_unused));
    EXPECT_TRUE(noted("F100\nG2 X10.004 Y0 I5 J0",
                      SpotKind::arc_radius_mismatch));  // the report's limit is 0.002 mm
    EXPECT_TRUE(noted("G0 X1 (a (b) c)", SpotKind::nested_comment));
    EXPECT_FALSE(noted("F100\nG2 X10.001 Y0 I5 J0", SpotKind::arc_radius_mismatch));
}

// Section 3.5.13 and 3.5.5, from memory: P1 to P9 are G54 to G59.3, and G10 moves nothing.
TEST(NgcRules, NineCoordinateSystemsHaveTheirOwnOrigins) {
    std::string text;
    for (int system = 1; system <= 9; ++system) {
        text += "G10 L2 P" + std::to_string(system) + " X" + std::to_string(10 * system) + "\n";
    }
    int number = 0;
    for (const char* word : {"G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"}) {
        ++number;
        const Outcome outcome = run(text + word + " G0 X1");
        expect_end(outcome, 10.0 * number + 1.0, 0);
        EXPECT_EQ(outcome.moves.size(), 1U);
    }
}

// Section 3.5.16.8, from memory: aside by I and J, down, back over the hole, up to K at the feed
// rate, down at the feed rate, aside, up, back.
TEST(NgcRules, BackBoringMakesItsMovesInTheirOrder) {
    const Outcome outcome = run("G0 Z5\nG87 X10 Y20 Z-8 R1 I2 J1 K-3 F100");
    ASSERT_TRUE(outcome.read.errors.empty());
    const std::vector<std::array<double, 3>> ends = {
        {0, 0, 5},    {10, 20, 5},  {10, 20, 1},  {12, 21, 1}, {12, 21, -8}, {10, 20, -8},
        {10, 20, -3}, {10, 20, -8}, {12, 21, -8}, {12, 21, 5}, {10, 20, 5}};
    ASSERT_EQ(outcome.moves.size(), ends.size());
    for (std::size_t i = 0; i < ends.size(); ++i) {
        for (std::size_t axis = 0; axis < 3; ++axis) {
            EXPECT_NEAR(mm(outcome.moves[i].end_m[axis]), ends[i][axis], kExact_mm) << i;
        }
        EXPECT_EQ(outcome.moves[i].rapid, i != 6 && i != 7) << i;
    }
}

// Section 3.5.10, from memory: with a length of 30 mm in use the controlled point is the tool's
// tip, so that Z ends 30 mm higher.
TEST(NgcRules, ToolLengthOffsetMovesTheEndsOfZ) {
    ProgramSettings settings = standard_tolerance();
    settings.tool_lengths_m = {{1, 0.03}};
    expect_end(run("G43 H1\nG0 Z2", settings), 0, 0, 32);
    expect_end(run("G43 H1\nG0 Z2\nG49 Z2", settings), 0, 0, 2);
}

// M7 and M8 may both be on (section 3.4, from memory).
TEST(NgcRules, BothCoolantsMayBeOn) {
    EXPECT_FALSE(refused("M7 M8"));
}

}  // namespace
}  // namespace planner::test
