#include "planner/kinematics/motor_moves.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "planner/profile/motion.hpp"
#include "tests/planner/lookahead/random_program.hpp"

namespace planner {
namespace {

using testing::example_limits;
using testing::move_by;
using testing::plan;
using testing::ProgramMaker;

constexpr double kRounding_s = 1e-14;  // times below 10 s

std::vector<MotorMove> motor_moves(Kinematics kinematics, std::span<const PlannedMove> planned) {
    MotorMover mover(kinematics, AxisSet("XYZE"));
    std::vector<MotorMove> result;
    mover.push(planned, result);
    return result;
}

TEST(MotorMoves, ClockRunsThroughMovesAndRests) {
    // Two moves of 50 mm at 100 mm/s and 3 m/s^2 take L/v + v/a = 0.5333 s each, 0.25 s of rest
    // between them.
    std::vector<Move> program{move_by({}, {0.05}, 0.1), move_by({0.05}, {-0.05}, 0.1)};
    program[0].rest_before_s = 1.5;
    program[1].rest_before_s = 0.25;
    MotorMover mover(Kinematics::cartesian, AxisSet("XYZE"));
    std::vector<MotorMove> moves;
    mover.push(plan(example_limits(), program), moves);
    const double each_s = 0.5 + 0.1 / 3.0;
    ASSERT_EQ(moves.size(), 2U);
    EXPECT_EQ(moves[0].start.seconds(), 1.5);
    EXPECT_NEAR(moves[1].start.seconds(), 1.5 + each_s + 0.25, kRounding_s);
    EXPECT_NEAR(mover.end().seconds(), 1.5 + 2.0 * each_s + 0.25, kRounding_s);
}

TEST(MotorMoves, CarryTheirMoveAndBothPaths) {
    Move move = move_by({0.01, 0.02}, {0.03, 0.01}, 0.1);
    move.line = 77;
    move.rapid = true;
    move.arc_chord = true;
    const std::vector<Move> program{move};
    const auto result = motor_moves(Kinematics::crossed_belt, plan(example_limits(), program));
    ASSERT_EQ(result.size(), 1U);
    EXPECT_EQ(result[0].line, 77U);
    EXPECT_TRUE(result[0].rapid);
    EXPECT_TRUE(result[0].arc_chord);
    EXPECT_EQ(result[0].length_m, move.length_m);
    EXPECT_EQ(result[0].tool_start_m, move.start_m);
    EXPECT_EQ(result[0].tool_end_m, move.end_m);
    EXPECT_EQ(result[0].motor_start_m[0], move.start_m[0] + move.start_m[1]);
    EXPECT_EQ(result[0].motor_end_m[1], move.end_m[0] - move.end_m[1]);
}

TEST(MotorMoves, JoinWithoutGapInPositionSpeedAndTime) {
    for (const auto kinematics : {Kinematics::cartesian, Kinematics::crossed_belt}) {
        const auto planned = plan(example_limits(), ProgramMaker(42).moves(3000));
        const auto moves = motor_moves(kinematics, planned);
        ASSERT_EQ(moves.size(), planned.size());
        for (std::size_t k = 1; k < moves.size(); ++k) {
            const MotorMove& before = moves[k - 1];
            const MotorMove& after = moves[k];
            ASSERT_EQ(before.motor_end_m, after.motor_start_m) << k;
            const double pause_s = std::max(0.0, after.rest_before_s);
            const double gap_s = static_cast<double>(after.start.whole_s - before.start.whole_s) +
                                 (after.start.fraction_s - before.start.fraction_s);
            ASSERT_NEAR(gap_s, before.profile.duration_s + pause_s, kRounding_s) << k;
            const double end_m_s = speed_at(before.profile, before.profile.duration_s);
            constexpr double kSpeed = 1e-14;  // speeds below 1 m/s
            ASSERT_NEAR(end_m_s, speed_at(after.profile, 0.0), kSpeed) << k;
        }
    }
}

TEST(MotorMoves, ChunksGiveTheSameMovesAsOnePush) {
    const auto planned = plan(example_limits(), ProgramMaker(43).moves(1000));
    const auto at_once = motor_moves(Kinematics::crossed_belt, planned);
    MotorMover mover(Kinematics::crossed_belt, AxisSet("XYZE"));
    std::vector<MotorMove> moves;
    for (std::size_t begin = 0; begin < planned.size(); begin += 7) {
        const auto size = std::min<std::size_t>(7, planned.size() - begin);
        mover.push(std::span(planned).subspan(begin, size), moves);
    }
    ASSERT_EQ(moves.size(), at_once.size());
    for (std::size_t k = 0; k < moves.size(); ++k) {
        ASSERT_EQ(moves[k].start.whole_s, at_once[k].start.whole_s);
        ASSERT_EQ(moves[k].start.fraction_s, at_once[k].start.fraction_s);
        ASSERT_EQ(moves[k].profile.duration_s, at_once[k].profile.duration_s);
    }
}

}  // namespace
}  // namespace planner
