#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

#include "planner/path/path_builder.hpp"
#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

constexpr double kFewRoundings_m = 1e-15;  // of millimetres turned into metres
constexpr double kRounding_s = 1e-12;      // of half a minute

constexpr double kTolerance_m = 1e-5;

std::vector<Move> path_of(std::string_view text, const ProgramSettings& settings = {},
                          double tolerance_m = kTolerance_m) {
    const ReadResult result = read_text(text, settings);
    EXPECT_TRUE(result.errors.empty()) << text;
    PathBuilder builder(settings, from_si<Length>(tolerance_m));
    std::vector<Move> moves;
    builder.push(result.commands, moves);
    return moves;
}

double length(const std::vector<Move>& moves) {
    double sum = 0.0;
    for (const Move& move : moves) {
        sum += move.length_m;
    }
    return sum;
}

TEST(PathBuilder, MovesOfNoLengthVanishButTheirRestsStay) {
    const std::vector<Move> moves =
        path_of("G1 X1 F60\nG1 X1\nG4 P2\nG1 X1\nM3\nG4 P1\nG1 X2\nG1 X3\n");
    ASSERT_EQ(moves.size(), 3U);
    EXPECT_EQ(moves[0].rest_before_s, 0.0);
    EXPECT_EQ(moves[1].rest_before_s, 3.0);
    EXPECT_EQ(moves[1].line, 7U);
    EXPECT_LT(moves[2].rest_before_s, 0.0);
}

TEST(PathBuilder, RestAfterTheLastMoveIsKept) {
    const ProgramSettings settings;
    PathBuilder builder(settings, from_si<Length>(kTolerance_m));
    std::vector<Move> moves;
    builder.push(read_text("G1 X1 F60\nG4 P2\n").commands, moves);
    EXPECT_EQ(to_si(builder.trailing_rest()), 2.0);
}

TEST(PathBuilder, FeedAppliesToTheFirstGroupOfAxesThatMoves) {
    const ProgramSettings settings = settings_for("XYZABUVE");
    const auto length_of = [&](const char* words) {
        return path_of(std::string("G1 F60 ") + words, settings).at(0).length_m;
    };
    EXPECT_NEAR(length_of("X3 Y4 E100 A7"), 0.005, kFewRoundings_m);
    EXPECT_NEAR(length_of("U3 V4 A100"), 0.005, kFewRoundings_m);
    EXPECT_NEAR(length_of("A3 B4 E100"), 0.005, kFewRoundings_m);
    EXPECT_NEAR(length_of("E5"), 0.005, kFewRoundings_m);
}

TEST(PathBuilder, RoundingOfOffsetsIsNoMove) {
    // 0.1 + 0.2 is not 0.3 in binary: after G92 the same place is reached by another sum.
    const std::vector<Move> moves =
        path_of("G1 X0.3 F60\nG92 X0.1\nG91\nX0.2\nX-0.2\nG90\nX0.1 Y1\n");
    ASSERT_EQ(moves.size(), 4U);
    EXPECT_NEAR(moves[3].length_m, 0.001, kFewRoundings_m);
}

TEST(PathBuilder, ExactStopRestsAfterItsMove) {
    const std::vector<Move> moves = path_of("G61.1 G1 X1 F60\nG64 G1 X2\nX3\n");
    EXPECT_EQ(moves.at(1).rest_before_s, 0.0);
    EXPECT_LT(moves.at(2).rest_before_s, 0.0);
}

TEST(PathBuilder, InverseTimeSetsTheDuration) {
    const std::vector<Move> moves = path_of("G93 G1 X10 F2\nG2 X20 R5 F4\n");
    EXPECT_NEAR(moves[0].length_m / moves[0].feed_m_s, 30.0, kRounding_s);
    double time_s = 0.0;
    for (std::size_t i = 1; i < moves.size(); ++i) {
        time_s += moves[i].length_m / moves[i].feed_m_s;
    }
    EXPECT_NEAR(time_s, 15.0, kRounding_s);
}

TEST(PathBuilder, AFeedOverrideScalesFeedsAndNotTraverses) {
    ProgramSettings settings;
    settings.feed_override = 0.5;
    const std::vector<Move> moves = path_of("G0 X1\nG1 X2 F60\nG93 X3 F2\n", settings);
    EXPECT_TRUE(std::isinf(moves.at(0).feed_m_s));
    EXPECT_EQ(moves.at(1).feed_m_s, 0.5e-3);
    EXPECT_NEAR(moves.at(2).length_m / moves.at(2).feed_m_s, 60.0, kRounding_s);
}

TEST(PathBuilder, AccelerationCapHoldsUntilTheNextOne) {
    const std::vector<Move> moves =
        path_of("G1 X1 F60\nM7301 S500\nX2\nX3\nM7301 S0\nX4\n", printer());
    EXPECT_TRUE(std::isinf(moves.at(0).acceleration_cap_m_s2));
    EXPECT_EQ(moves.at(1).acceleration_cap_m_s2, 0.5);
    EXPECT_EQ(moves.at(2).acceleration_cap_m_s2, 0.5);
    EXPECT_TRUE(std::isinf(moves.at(3).acceleration_cap_m_s2));
}

TEST(PathBuilder, FullTurnsAreCounted) {
    const double turn_m = 2.0 * std::numbers::pi * 0.005;
    constexpr double kPolygon =
        1e-3;  // at 10 um on a 5 mm radius the polygon is 0.07 % shorter than the circle
    EXPECT_NEAR(length(path_of("F60\nG2 I5")) / turn_m, 1.0, kPolygon);
    EXPECT_NEAR(length(path_of("F60\nG2 I5 P3")) / (3.0 * turn_m), 1.0, kPolygon);
    EXPECT_NEAR(length(path_of("F60\nG3 X10 I5 P2")) / (1.5 * turn_m), 1.0, kPolygon);
}

TEST(PathBuilder, TinyToleranceGivesABoundedNumberOfChords) {
    const ProgramSettings settings;
    PathBuilder builder(settings, from_si<Length>(1e-15));
    std::vector<Move> moves;
    builder.push(read_text("F60\nG2 I500 P1000").commands, moves);
    EXPECT_LE(moves.size(), static_cast<std::size_t>(kMostChords));
    EXPECT_EQ(builder.coarse_arcs().count, 1U);
    EXPECT_EQ(builder.coarse_arcs().first_line, 2U);
    EXPECT_EQ(moves.back().end_m, AxisArray{});
}

TEST(PathBuilder, SomeAtATimeAreTheSameMoves) {
    const ProgramSettings settings;
    const auto commands =
        read_text("F60\nG1 X1\nG2 I5 P2\nG4 P1\nG61.1\nG3 X3 Z1 I1\nG1 X9\n").commands;
    const auto moves_with = [&](std::size_t most) {
        PathBuilder builder(settings, from_si<Length>(kTolerance_m));
        std::vector<Move> all, some;
        for (std::size_t done = 0; done < commands.size(); some.clear()) {
            done += builder.push_some(std::span(commands).subspan(done), most, some);
            EXPECT_LE(some.size(), most);
            all.insert(all.end(), some.begin(), some.end());
        }
        return all;
    };
    const std::vector<Move> whole = moves_with(100000);
    ASSERT_GT(whole.size(), 100U);
    for (const std::size_t most : {1U, 2U, 7U, 64U}) {
        const std::vector<Move> pieces = moves_with(most);
        ASSERT_EQ(pieces.size(), whole.size()) << most;
        for (std::size_t i = 0; i < whole.size(); ++i) {
            EXPECT_EQ(pieces[i].start_m, whole[i].start_m);
            EXPECT_EQ(pieces[i].end_m, whole[i].end_m);
            EXPECT_EQ(pieces[i].rest_before_s, whole[i].rest_before_s);
            EXPECT_EQ(pieces[i].arc_chord, whole[i].arc_chord);
        }
    }
}

struct RandomArc {
    double radius_mm, start_rad, sweep_rad, rise_mm;
    bool clockwise;
    int plane;
};

RandomArc random_arc() {
    return {*rc::gen::inRange(1, 200000) / 1000.0, *rc::gen::inRange(0, 6283) / 1000.0,
            *rc::gen::inRange(1, 6282) / 1000.0,   *rc::gen::inRange(-50, 50) / 10.0,
            *rc::gen::arbitrary<bool>(),           *rc::gen::inRange(0, 3)};
}

RC_GTEST_PROP(PathBuilder, ChordsLieOnTheCircleAndStayWithinTheTolerance, ()) {
    const RandomArc arc = random_arc();
    const double tolerance_m = *rc::gen::inRange(1, 200) * 1e-6;
    constexpr std::array<std::array<std::size_t, 3>, 3> kSlots = {
        {{0, 1, 2}, {2, 0, 1}, {1, 2, 0}}};
    const auto& slots = kSlots[static_cast<std::size_t>(arc.plane)];
    const double turn = arc.clockwise ? -arc.sweep_rad : arc.sweep_rad;
    const double radius_m = arc.radius_mm / 1e3;
    ProgramSettings settings;
    settings.start_m[slots[0]] = radius_m * std::cos(arc.start_rad);
    settings.start_m[slots[1]] = radius_m * std::sin(arc.start_rad);
    Command command;
    command.kind = CommandKind::arc;
    command.feed_m_s = 0.1;
    command.arc.first = static_cast<std::int8_t>(slots[0]);
    command.arc.second = static_cast<std::int8_t>(slots[1]);
    command.arc.clockwise = arc.clockwise;
    command.target_m[slots[0]] = radius_m * std::cos(arc.start_rad + turn);
    command.target_m[slots[1]] = radius_m * std::sin(arc.start_rad + turn);
    command.target_m[slots[2]] = arc.rise_mm / 1e3;
    PathBuilder builder(settings, from_si<Length>(tolerance_m));
    std::vector<Move> moves;
    builder.push({&command, 1}, moves);
    RC_ASSERT(!moves.empty());
    RC_ASSERT(moves.back().end_m == command.target_m);
    constexpr double kRounding_m = 1e-15;  // a few units in the last place of 0.2 m
    double swept_rad = 0.0;
    AxisArray at_m = settings.start_m;
    for (std::size_t i = 0; i < moves.size(); ++i) {
        const Move& move = moves[i];
        RC_ASSERT(move.start_m == at_m);
        RC_ASSERT(move.arc_chord == (i > 0));
        at_m = move.end_m;
        const double u0 = move.start_m[slots[0]], v0 = move.start_m[slots[1]];
        const double u1 = move.end_m[slots[0]], v1 = move.end_m[slots[1]];
        RC_ASSERT(std::fabs(std::hypot(u1, v1) - radius_m) <= kRounding_m);
        RC_ASSERT(radius_m - std::hypot(0.5 * (u0 + u1), 0.5 * (v0 + v1)) <=
                  tolerance_m + kRounding_m);
        swept_rad += std::atan2(u0 * v1 - v0 * u1, u0 * u1 + v0 * v1);
        RC_ASSERT(std::fabs(move.end_m[slots[2]] - arc.rise_mm / 1e3 * swept_rad / turn) <= 1e-9);
    }
    RC_ASSERT(std::fabs(swept_rad - turn) <= 1e-9);
}

RC_GTEST_PROP(PathBuilder, MovesChainFromStartToEnd, ()) {
    std::string text = "G21 F600\n";
    for (const auto& step : *rc::gen::container<std::vector<std::pair<int, int>>>(
             rc::gen::pair(rc::gen::inRange(-50, 50), rc::gen::inRange(-50, 50)))) {
        text += "G1 X" + std::to_string(step.first) + " Y" + std::to_string(step.second) +
                "\nG91 G3 X1 R4\nG90\n";
    }
    const std::vector<Move> moves = path_of(text + "G1 X60\n");
    AxisArray at_m{};
    for (const Move& move : moves) {
        RC_ASSERT(move.start_m == at_m);
        RC_ASSERT(move.length_m > 0.0);
        at_m = move.end_m;
    }
}

}  // namespace
}  // namespace planner::test
