#include "planner/lookahead/lookahead.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "planner/lookahead/corner.hpp"
#include "tests/planner/lookahead/random_program.hpp"

namespace planner {
namespace {

using testing::example_limits;
using testing::kAxes;
using testing::move_by;
using testing::plan;
using testing::ProgramMaker;

constexpr double kRounding =
    1e-12;  // relative, on squared speeds: thousands of sums along a program
constexpr std::array kRules{CornerRule::speed_step, CornerRule::deviation};
constexpr std::array kWindows{1, 2, 3, 16, 0};

double square(double value) {
    return value * value;
}

/// The textbook plan of moves [first, last): backward from rest, then forward from `entry_squared`.
/// Exit speeds, squared.
std::vector<double> plan_span(const PlanLimits& limits, std::span<const Move> moves,
                              double entry_squared) {
    std::vector<MoveLimits> each;
    for (const Move& move : moves) {
        each.push_back(move_limits(limits, move));
    }
    std::vector<double> exits(moves.size(), 0.0);
    for (std::size_t i = moves.size() - 1; i > 0; --i) {
        const bool rests = moves[i].rest_before_s >= 0.0;
        const double corner = rests ? 0.0 : plan_corner_speed(limits, each[i - 1], each[i]);
        const double gain = 2.0 * each[i].acceleration_m_s2 * each[i].length_m;
        exits[i - 1] = std::min(square(corner), exits[i] + gain);
    }
    for (std::size_t i = 0; i < moves.size(); ++i) {
        const double gain = 2.0 * each[i].acceleration_m_s2 * each[i].length_m;
        exits[i] = std::min(exits[i], (i > 0 ? exits[i - 1] : entry_squared) + gain);
    }
    return exits;
}

void expect_same(double squared_speed, double reference, std::size_t index) {
    ASSERT_NEAR(squared_speed, reference, kRounding * std::max(reference, 1e-3))
        << "move " << index;
}

TEST(LookAhead, SingleMoveStartsAndEndsAtRest) {
    const std::vector<Move> program{move_by({}, {0.01}, 0.1)};
    for (const int window : kWindows) {
        const auto planned = plan(example_limits(CornerRule::speed_step, window), program);
        ASSERT_EQ(planned.size(), 1U);
        EXPECT_EQ(planned[0].entry_speed_m_s, 0.0);
        EXPECT_EQ(planned[0].exit_speed_m_s, 0.0);
        EXPECT_NEAR(planned[0].nominal_speed_m_s, 0.1, kRounding);
        EXPECT_NEAR(planned[0].acceleration_m_s2, 3.0, kRounding);
    }
}

TEST(LookAhead, EmptyProgramGivesNoMoves) {
    EXPECT_TRUE(plan(example_limits(), {}).empty());
}

TEST(LookAhead, ShortMovesOnALineRampUpAndDown) {
    // Four moves of 1 mm at 3 m/s^2, feed out of reach: w rises by 2 a L = 0.006 a move to the
    // middle and falls again.
    std::vector<Move> program;
    for (int i = 0; i < 4; ++i) {
        program.push_back(move_by({0.001 * i}, {0.001}, 1.0));
    }
    const auto planned = plan(example_limits(), program);
    const std::array expected{0.006, 0.012, 0.006, 0.0};
    for (std::size_t i = 0; i < 4; ++i) {
        expect_same(square(planned[i].exit_speed_m_s), expected[i], i);
    }
    // Two moves in sight: each exit may be what one move can stop from.
    const auto bounded = plan(example_limits(CornerRule::speed_step, 2), program);
    const std::array expected_bounded{0.006, 0.006, 0.006, 0.0};
    for (std::size_t i = 0; i < 4; ++i) {
        expect_same(square(bounded[i].exit_speed_m_s), expected_bounded[i], i);
    }
}

TEST(LookAhead, WindowOfOneStopsAfterEveryMove) {
    const auto program = ProgramMaker(1).moves(500);
    for (const auto& move : plan(example_limits(CornerRule::speed_step, 1), program)) {
        ASSERT_EQ(move.exit_speed_m_s, 0.0);
    }
}

TEST(LookAhead, RestBeforeAMoveStopsTheOneBefore) {
    std::vector<Move> program{move_by({}, {0.05}, 0.1), move_by({0.05}, {0.05}, 0.1)};
    EXPECT_GT(plan(example_limits(), program)[0].exit_speed_m_s, 0.09);
    program[1].rest_before_s = 0.0;
    EXPECT_EQ(plan(example_limits(), program)[0].exit_speed_m_s, 0.0);
}

TEST(LookAhead, UnlimitedWindowEqualsAWholeProgramPlan) {
    for (const auto rule : kRules) {
        const auto limits = example_limits(rule);
        const auto program = ProgramMaker(2).moves(20000);
        const auto planned = plan(limits, program);
        const auto reference = plan_span(limits, program, 0.0);
        ASSERT_EQ(planned.size(), program.size());
        for (std::size_t i = 0; i < program.size(); ++i) {
            expect_same(square(planned[i].exit_speed_m_s), reference[i], i);
        }
    }
}

TEST(LookAhead, BoundedWindowEqualsAPlanFromEachWindowAlone) {
    for (const auto rule : kRules) {
        for (const int window : {1, 2, 3, 16}) {
            const auto limits = example_limits(rule, window);
            const auto program = ProgramMaker(3).moves(3000);
            const auto planned = plan(limits, program);
            ASSERT_EQ(planned.size(), program.size());
            double entry_squared = 0.0;
            for (std::size_t i = 0; i < program.size(); ++i) {
                const auto size = std::min(static_cast<std::size_t>(window), program.size() - i);
                const std::span<const Move> sight(program.data() + i, size);
                const double reference = plan_span(limits, sight, entry_squared).front();
                expect_same(square(planned[i].exit_speed_m_s), reference, i);
                entry_squared = square(planned[i].exit_speed_m_s);
            }
        }
    }
}

TEST(LookAhead, SpeedsAndAccelerationsNeverExceedTheLimits) {
    for (const auto rule : kRules) {
        for (const int window : kWindows) {
            const auto limits = example_limits(rule, window);
            const auto planned = plan(limits, ProgramMaker(4).moves(8000));
            for (const PlannedMove& each : planned) {
                const auto allowed = move_limits(limits, each.move);
                ASSERT_LE(each.nominal_speed_m_s, each.move.feed_m_s * (1.0 + kRounding));
                for (std::size_t i = 0; i < kAxes; ++i) {
                    const double u = std::abs(allowed.direction[i]);
                    ASSERT_LE(each.nominal_speed_m_s * u,
                              limits.max_speed_m_s[i] * (1 + kRounding));
                    ASSERT_LE(each.acceleration_m_s2 * u,
                              limits.max_acceleration_m_s2[i] * (1 + kRounding));
                }
                ASSERT_LE(each.entry_speed_m_s, each.nominal_speed_m_s);
                ASSERT_LE(each.exit_speed_m_s, each.nominal_speed_m_s);
                ASSERT_GE(each.exit_speed_m_s, 0.0);
                const double change =
                    std::abs(square(each.exit_speed_m_s) - square(each.entry_speed_m_s));
                constexpr double kContract = 1e-12;  // lookahead.hpp, Valid
                ASSERT_LE(change,
                          2.0 * each.acceleration_m_s2 * each.move.length_m * (1.0 + kContract));
            }
        }
    }
}

TEST(LookAhead, NeverExceedsTheCornerSpeedAndLeavesNoGapInSpeed) {
    for (const auto rule : kRules) {
        for (const int window : kWindows) {
            const auto limits = example_limits(rule, window);
            const auto planned = plan(limits, ProgramMaker(5).moves(8000));
            ASSERT_EQ(planned.front().entry_speed_m_s, 0.0);
            ASSERT_EQ(planned.back().exit_speed_m_s, 0.0);
            for (std::size_t k = 1; k < planned.size(); ++k) {
                const double v = planned[k].entry_speed_m_s;
                ASSERT_EQ(v, planned[k - 1].exit_speed_m_s) << k;
                ASSERT_TRUE(planned[k].move.rest_before_s < 0.0 || v == 0.0) << k;
                ASSERT_LE(v, plan_corner_speed(limits, move_limits(limits, planned[k - 1].move),
                                               move_limits(limits, planned[k].move)));
            }
        }
    }
}

TEST(LookAhead, CanAlwaysStopInsideTheWindow) {
    for (const auto rule : kRules) {
        for (const int window : {1, 2, 3, 16}) {
            const auto planned = plan(example_limits(rule, window), ProgramMaker(6).moves(5000));
            for (std::size_t k = 0; k < planned.size(); ++k) {
                double squared = square(planned[k].exit_speed_m_s);
                for (std::size_t i = k + 1;
                     i < std::min(planned.size(), k + static_cast<std::size_t>(window)); ++i) {
                    squared -= 2.0 * planned[i].acceleration_m_s2 * planned[i].move.length_m;
                }
                ASSERT_LE(squared, kRounding) << "window " << window << ", move " << k;
            }
        }
    }
}

TEST(LookAhead, WiderWindowIsNowhereSlower) {
    for (const auto rule : kRules) {
        const auto program = ProgramMaker(7).moves(8000);
        std::vector<PlannedMove> narrower;
        for (const int window : {1, 2, 3, 5, 16, 100, kMaxWindowMoves, 0}) {
            const auto planned = plan(example_limits(rule, window), program);
            for (std::size_t k = 0; k < narrower.size(); ++k) {
                ASSERT_GE(planned[k].exit_speed_m_s, narrower[k].exit_speed_m_s) << window;
            }
            narrower = planned;
        }
    }
}

TEST(LookAhead, ChunksOfAnySizeGiveTheSamePlan) {
    for (const int window : kWindows) {
        const auto limits = example_limits(CornerRule::speed_step, window);
        const auto program = ProgramMaker(8).moves(6000);
        const auto at_once = plan(limits, program);
        ProgramMaker chance(9);
        LookAhead look_ahead(limits);
        std::vector<PlannedMove> planned;
        for (std::size_t begin = 0; begin < program.size();) {
            const auto size = std::min(program.size() - begin,
                                       static_cast<std::size_t>(chance.scaled(1.0, 2000.0)));
            look_ahead.push(std::span(program).subspan(begin, size), planned);
            begin += size;
        }
        look_ahead.finish(planned);
        ASSERT_EQ(planned.size(), at_once.size());
        for (std::size_t k = 0; k < planned.size(); ++k) {
            ASSERT_EQ(planned[k].move.line, k + 1);
            ASSERT_EQ(planned[k].exit_speed_m_s, at_once[k].exit_speed_m_s) << k;
        }
    }
}

TEST(LookAhead, AfterFinishStartsAfresh) {
    const auto program = ProgramMaker(10).moves(700);
    for (const int window : kWindows) {
        LookAhead look_ahead(example_limits(CornerRule::speed_step, window));
        std::vector<PlannedMove> first, second;
        look_ahead.push(program, first);
        look_ahead.finish(first);
        look_ahead.push(program, second);
        look_ahead.finish(second);
        ASSERT_EQ(first.size(), second.size());
        for (std::size_t k = 0; k < first.size(); ++k) {
            ASSERT_EQ(first[k].exit_speed_m_s, second[k].exit_speed_m_s);
        }
    }
}

TEST(LookAhead, HoldsBackNoMoreThanItPromises) {
    // One straight line of tiny moves that never reaches its feed: no junction ever sits at its own
    // speed.
    constexpr double kStep_m = 1e-9;
    constexpr std::size_t kCount = 100000;
    for (const int window : {16, 0}) {
        LookAhead look_ahead(example_limits(CornerRule::speed_step, window));
        const std::size_t most = window > 0 ? 15U : 2U * kMaxWindowMoves + 1024U;
        std::vector<PlannedMove> planned;
        double x_m = 0.0;
        for (std::size_t k = 0; k < kCount; ++k) {
            const std::array move{move_by({x_m}, {kStep_m}, 0.3)};
            x_m = move[0].end_m[0];
            look_ahead.push(move, planned);
            ASSERT_LE(k + 1 - planned.size(), most);
        }
        look_ahead.finish(planned);
        ASSERT_EQ(planned.size(), kCount);
        EXPECT_EQ(planned.back().exit_speed_m_s, 0.0);
    }
}

}  // namespace
}  // namespace planner
