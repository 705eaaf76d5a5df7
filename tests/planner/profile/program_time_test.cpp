/// Properties of the time a whole program takes: look-ahead and profile together.
#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

#include "planner/profile/motion.hpp"
#include "planner/profile/trapezoid.hpp"
#include "tests/planner/lookahead/random_program.hpp"

namespace planner {
namespace {

using testing::example_limits;
using testing::kAxes;
using testing::move_by;
using testing::plan;
using testing::ProgramMaker;

constexpr double kWholePhase =
    1e-9;  // relative: trapezoid.hpp rounds speed changes to whole moves by this much
constexpr std::array kRules{CornerRule::speed_step, CornerRule::deviation};
constexpr std::array kWindows{1, 2, 3, 16, 0};

double time_of(const PlannedMove& planned) {
    return trapezoid(planned.move.length_m, planned.entry_speed_m_s, planned.nominal_speed_m_s,
                     planned.exit_speed_m_s, planned.acceleration_m_s2)
        .duration_s;
}

double program_time(const PlanLimits& limits, const std::vector<Move>& program) {
    double sum_s = 0.0;
    for (const PlannedMove& planned : plan(limits, program)) {
        sum_s += time_of(planned);
    }
    return sum_s;
}

TEST(ProgramDuration, WiderWindowNeverTakesLonger) {
    for (const auto rule : kRules) {
        const auto program = ProgramMaker(31).moves(6000);
        double narrower_s = std::numeric_limits<double>::infinity();
        for (const int window : {1, 2, 3, 5, 16, 64, 0}) {
            const double time_s = program_time(example_limits(rule, window), program);
            EXPECT_LE(time_s, narrower_s * (1.0 + kWholePhase)) << window;
            narrower_s = time_s;
        }
    }
}

TEST(ProgramDuration, HalvingALimitNeverShortensAProgram) {
    for (const auto rule : kRules) {
        for (const int window : kWindows) {
            const auto program = ProgramMaker(32).moves(3000);
            const PlanLimits limits = example_limits(rule, window);
            const double time_s = program_time(limits, program) * (1.0 - kWholePhase);
            for (std::size_t axis = 0; axis < kAxes; ++axis) {
                PlanLimits less = limits;
                less.max_speed_m_s[axis] /= 2.0;
                EXPECT_GE(program_time(less, program), time_s) << "speed of axis " << axis;
                less = limits;
                less.max_acceleration_m_s2[axis] /= 2.0;
                EXPECT_GE(program_time(less, program), time_s) << "acceleration of axis " << axis;
                less = limits;
                less.speed_step_m_s[axis] /= 2.0;
                EXPECT_GE(program_time(less, program), time_s) << "speed step of axis " << axis;
            }
            PlanLimits less = limits;
            less.path_acceleration_m_s2 = 1.0;
            EXPECT_GE(program_time(less, program), time_s);
            less = limits;
            less.deviation_m /= 2.0;
            EXPECT_GE(program_time(less, program), time_s);
        }
    }
}

TEST(ProgramDuration, DoublingOnlyTheFeedHardlyHelpsShortMoves) {
    // Infill of a thin part: 2 mm lines back and forth at 100 mm/s; 100 mm/s would need 1.7 mm to
    // reach and as much to leave.
    for (const int window : kWindows) {
        const auto program_at = [](double feed_m_s) {
            std::vector<Move> program;
            AxisArray at_m{};
            for (int n = 0; n < 500; ++n) {
                for (const AxisArray& delta_m :
                     {AxisArray{2e-3}, AxisArray{0, 4e-4}, AxisArray{-2e-3}, AxisArray{0, 4e-4}}) {
                    program.push_back(move_by(at_m, delta_m, feed_m_s));
                    at_m = program.back().end_m;
                }
            }
            return program;
        };
        const PlanLimits limits = example_limits(CornerRule::speed_step, window);
        const double once_s = program_time(limits, program_at(0.1));
        const double twice_s = program_time(limits, program_at(0.2));
        EXPECT_LE(twice_s, once_s);
        EXPECT_GT(twice_s, 0.9 * once_s);
    }
}

TEST(ProgramDuration, SplittingAStraightMoveChangesNothing) {
    // Long enough legs that the arc of a rounded corner fits into half of either half (corner.hpp).
    ProgramMaker chance(33);
    std::vector<Move> whole, split;
    AxisArray at_m{};
    for (int n = 0; n < 2000; ++n) {
        AxisArray delta_m{};
        for (std::size_t i = 0; i < 3; ++i) {
            delta_m[i] = (chance.uniform(0, 1) < 0.5 ? -1 : 1) * chance.scaled(0.005, 0.02);
        }
        const double feed_m_s = chance.scaled(0.01, 0.3);
        whole.push_back(move_by(at_m, delta_m, feed_m_s));
        const double share = chance.uniform(0.2, 0.8);
        AxisArray first_m{}, second_m{};
        for (std::size_t i = 0; i < 3; ++i) {
            first_m[i] = share * delta_m[i];
            second_m[i] = delta_m[i] - first_m[i];
        }
        split.push_back(move_by(at_m, first_m, feed_m_s));
        split.push_back(move_by(split.back().end_m, second_m, feed_m_s));
        at_m = whole.back().end_m;
    }
    for (const auto rule : kRules) {
        const double whole_s = program_time(example_limits(rule), whole);
        const double split_s = program_time(example_limits(rule), split);
        EXPECT_NEAR(split_s, whole_s, kWholePhase * whole_s);
    }
}

TEST(ProgramDuration, MirroredAxesTakeTheSameTime) {
    const auto program = ProgramMaker(34).moves(4000);
    auto mirrored = program;
    for (Move& move : mirrored) {
        move.start_m[0] = -move.start_m[0];
        move.end_m[0] = -move.end_m[0];
        move.start_m[2] = -move.start_m[2];
        move.end_m[2] = -move.end_m[2];
    }
    for (const auto rule : kRules) {
        for (const int window : kWindows) {
            const auto limits = example_limits(rule, window);
            EXPECT_EQ(program_time(limits, mirrored), program_time(limits, program));
        }
    }
}

TEST(ProgramDuration, RunBackwardsIsTheMirrorImageUnderAnUnlimitedWindow) {
    auto program = ProgramMaker(35).moves(5000);
    for (Move& move : program) {
        move.rest_before_s = -1.0;
    }
    auto backwards = program;
    std::reverse(backwards.begin(), backwards.end());
    for (Move& move : backwards) {
        std::swap(move.start_m, move.end_m);
    }
    for (const auto rule : kRules) {
        const auto there = plan(example_limits(rule), program);
        const auto back = plan(example_limits(rule), backwards);
        for (std::size_t k = 0; k < there.size(); ++k) {
            const PlannedMove& image = back[back.size() - 1 - k];
            // Directions of short moves are differences of positions up to 1 m: 1e-16 m of 1e-6 m
            // and more.
            constexpr double kDirection = 1e-9;
            ASSERT_NEAR(there[k].entry_speed_m_s, image.exit_speed_m_s, kDirection) << k;
            ASSERT_NEAR(time_of(there[k]), time_of(image), kDirection * time_of(image)) << k;
        }
    }
}

}  // namespace
}  // namespace planner
