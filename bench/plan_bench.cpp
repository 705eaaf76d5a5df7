/// Question: what does planning cost per move: look-ahead (windows 2, 16, unlimited; both corner
/// rules), profile, motor moves? Included: everything from a Move to a MotorMove, in chunks as the
/// pipeline hands them on. Not included: reading and path. Input: the mix of the planner's property
/// tests (dense curves, back-and-forth lines, single moves, rests), which stops look-ahead early
/// about as often as a real part does; and one smooth curve of short chords, where no corner ever
/// stops it early. Floor: the same moves copied into the same structs. Reference for the profile: that
/// of the Orocos Kinematics and Dynamics Library, rest to rest. Run with
/// --benchmark_repetitions=9.
#include <benchmark/benchmark.h>

#include <cmath>
#include <kdl/velocityprofile_trap.hpp>
#include <vector>

#include "planner/kinematics/motor_moves.hpp"
#include "planner/lookahead/lookahead.hpp"
#include "planner/profile/trapezoid.hpp"
#include "tests/planner/lookahead/random_program.hpp"

namespace planner {
namespace {

constexpr std::size_t kMoves = 8192;
constexpr std::size_t kChunk = 512;

using testing::example_limits;

const std::vector<Move>& mixed_program() {
    static const std::vector<Move> program = testing::ProgramMaker(61).moves(kMoves);
    return program;
}

const std::vector<Move>& curve_program() {
    static const std::vector<Move> program = [] {
        std::vector<Move> moves;
        AxisArray at_m{};
        for (std::size_t k = 0; k < kMoves; ++k) {
            const double angle_rad = 0.002 * static_cast<double>(k);
            constexpr double kChord_m = 1e-4;
            moves.push_back(testing::move_by(
                at_m, {kChord_m * std::cos(angle_rad), kChord_m * std::sin(angle_rad)}, 0.2));
            at_m = moves.back().end_m;
        }
        return moves;
    }();
    return program;
}

template <class Visit>
void for_chunks(const std::vector<Move>& program, Visit visit) {
    for (std::size_t begin = 0; begin < program.size(); begin += kChunk) {
        visit(std::span(program).subspan(begin, std::min(kChunk, program.size() - begin)));
    }
}

void per_move(benchmark::State& state) {
    state.counters["per_move"] = benchmark::Counter(
        static_cast<double>(kMoves),
        benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void floor_copy_moves(benchmark::State& state) {
    std::vector<PlannedMove> planned(kChunk);
    for (auto _ : state) {
        for_chunks(mixed_program(), [&](std::span<const Move> chunk) {
            for (std::size_t k = 0; k < chunk.size(); ++k) {
                planned[k].move = chunk[k];
            }
            benchmark::DoNotOptimize(planned.data());
        });
    }
    per_move(state);
}

void look_ahead(benchmark::State& state, const std::vector<Move>& program, CornerRule rule) {
    const PlanLimits limits = example_limits(rule, static_cast<int>(state.range(0)));
    double expected = 0.0;  // the plan of one push, outside the clock
    for (const PlannedMove& move : testing::plan(limits, program)) {
        expected += move.exit_speed_m_s;
    }
    std::vector<PlannedMove> planned;
    for (auto _ : state) {
        double sum = 0.0;
        LookAhead look_ahead(limits);
        const auto drain = [&] {
            for (const PlannedMove& move : planned) {
                sum += move.exit_speed_m_s;
            }
            planned.clear();
        };
        for_chunks(program, [&](std::span<const Move> chunk) {
            look_ahead.push(chunk, planned);
            drain();
        });
        look_ahead.finish(planned);
        drain();
        if (sum != expected) state.SkipWithError("plan differs from that of one push");
    }
    per_move(state);
}

void profile(benchmark::State& state) {
    const auto planned = testing::plan(example_limits(), mixed_program());
    double phases = 0.0;
    for (auto _ : state) {
        double time_s = 0.0;
        phases = 0.0;
        for (const PlannedMove& move : planned) {
            const Profile p =
                trapezoid(move.move.length_m, move.entry_speed_m_s, move.nominal_speed_m_s,
                          move.exit_speed_m_s, move.acceleration_m_s2);
            time_s += p.duration_s;
            phases += p.count;
        }
        benchmark::DoNotOptimize(time_s);
    }
    per_move(state);
    state.counters["phases"] = phases / static_cast<double>(kMoves);
}

void profile_from_rest(benchmark::State& state) {
    const auto planned = testing::plan(example_limits(), mixed_program());
    for (auto _ : state) {
        double time_s = 0.0;
        for (const PlannedMove& move : planned) {
            time_s += trapezoid(move.move.length_m, 0.0, move.nominal_speed_m_s, 0.0,
                                move.acceleration_m_s2)
                          .duration_s;
        }
        benchmark::DoNotOptimize(time_s);
    }
    per_move(state);
}

void profile_from_rest_kdl(benchmark::State& state) {
    constexpr double kSummation = 1e-9;  // relative; two ways to the same durations
    const auto planned = testing::plan(example_limits(), mixed_program());
    double expected_s = 0.0;
    for (const PlannedMove& move : planned) {
        expected_s +=
            trapezoid(move.move.length_m, 0.0, move.nominal_speed_m_s, 0.0, move.acceleration_m_s2)
                .duration_s;
    }
    for (auto _ : state) {
        double time_s = 0.0;
        for (const PlannedMove& move : planned) {
            KDL::VelocityProfile_Trap theirs(move.nominal_speed_m_s, move.acceleration_m_s2);
            theirs.SetProfile(0.0, move.move.length_m);
            time_s += theirs.Duration();
        }
        if (std::abs(time_s / expected_s - 1.0) > kSummation)
            state.SkipWithError("the library's motion lasts another time");
    }
    per_move(state);
}

void floor_copy_motor_moves(benchmark::State& state) {
    std::vector<MotorMove> motor_moves(kChunk);
    for (auto _ : state) {
        for_chunks(mixed_program(), [&](std::span<const Move> chunk) {
            for (std::size_t k = 0; k < chunk.size(); ++k) {
                const Move& move = chunk[k];
                MotorMove& motor_move = motor_moves[k];
                motor_move.tool_start_m = move.start_m;
                motor_move.tool_end_m = move.end_m;
                motor_move.motor_start_m = move.start_m;
                motor_move.motor_end_m = move.end_m;
            }
            benchmark::DoNotOptimize(motor_moves.data());
        });
    }
    per_move(state);
}

void motor_moves(benchmark::State& state) {
    const auto planned = testing::plan(example_limits(), mixed_program());
    std::vector<MotorMove> moves;
    for (auto _ : state) {
        MotorMover mover(Kinematics::crossed_belt, AxisSet("XYZE"));
        for (std::size_t begin = 0; begin < planned.size(); begin += kChunk) {
            moves.clear();
            const auto size = std::min(kChunk, planned.size() - begin);
            mover.push(std::span(planned).subspan(begin, size), moves);
        }
        if (!(mover.end().seconds() > 0.0)) state.SkipWithError("no time passed");
    }
    per_move(state);
}

BENCHMARK(floor_copy_moves);
BENCHMARK_CAPTURE(look_ahead, mixed_step, mixed_program(), CornerRule::speed_step)
    ->Arg(2)
    ->Arg(16)
    ->Arg(0);
BENCHMARK_CAPTURE(look_ahead, mixed_deviation, mixed_program(), CornerRule::deviation)
    ->Arg(16)
    ->Arg(0);
BENCHMARK_CAPTURE(look_ahead, curve_step, curve_program(), CornerRule::speed_step)
    ->Arg(16)
    ->Arg(128)
    ->Arg(0);
BENCHMARK(profile);
BENCHMARK(profile_from_rest);
BENCHMARK(profile_from_rest_kdl);
BENCHMARK(floor_copy_motor_moves);
BENCHMARK(motor_moves);

}  // namespace
}  // namespace planner
