/// Random programs for the planner's property tests: chains of moves as path/ would hand them over.
/// Every kind that makes planning hard is in the mix: tiny and long moves, dense curves, reversals,
/// filament-only moves, rests.
#pragma once

#include <cmath>
#include <limits>
#include <random>
#include <span>
#include <vector>

#include "planner/lookahead/lookahead.hpp"

namespace planner::testing {

inline constexpr int kAxes = 4;  // X Y Z E
inline constexpr std::size_t kE = 3;

/// Limits of a small machine; a slow, weak Z.
inline PlanLimits example_limits(CornerRule corner = CornerRule::speed_step, int window = 0) {
    PlanLimits limits;
    limits.axis_count = kAxes;
    limits.max_speed_m_s = {0.3, 0.25, 0.012, 0.1};
    limits.max_acceleration_m_s2 = {3.0, 2.0, 0.1, 5.0};
    limits.speed_step_m_s = {0.01, 0.008, 0.0004, 0.005};
    limits.corner = corner;
    limits.deviation_m = 20e-6;
    limits.window_moves = window;
    return limits;
}

/// A move from where the chain stands by `delta_m`; its length is by RS274/NGC 2.1.2.5, as Move
/// says.
inline Move move_by(const AxisArray& start_m, const AxisArray& delta_m, double feed_m_s) {
    Move move;
    move.feed_m_s = feed_m_s;
    move.start_m = start_m;
    for (std::size_t i = 0; i < kAxes; ++i) {
        move.end_m[i] = start_m[i] + delta_m[i];
    }
    move.length_m = std::hypot(delta_m[0], delta_m[1], delta_m[2]);
    if (move.length_m <= 0.0) move.length_m = std::abs(delta_m[kE]);
    return move;
}

class ProgramMaker {
  public:
    explicit ProgramMaker(unsigned seed) : engine_(seed) {}

    std::vector<Move> moves(std::size_t count) {
        std::vector<Move> program;
        while (program.size() < count) {
            const double kind = uniform(0.0, 1.0);
            if (kind < 0.3) {
                curve(program);
            } else if (kind < 0.4) {
                reversals(program);
            } else {
                single(program, kind);
            }
        }
        program.resize(count);
        for (std::size_t i = 0; i < count; ++i) {
            program[i].line = i + 1;
        }
        return program;
    }

    double uniform(double low, double high) {
        return std::uniform_real_distribution<double>(low, high)(engine_);
    }
    /// Evenly spread over orders of magnitude.
    double scaled(double low, double high) {
        return std::exp(uniform(std::log(low), std::log(high)));
    }

  private:
    void add(std::vector<Move>& program, const AxisArray& delta_m, double feed_m_s) {
        const AxisArray start_m = program.empty() ? AxisArray{} : program.back().end_m;
        program.push_back(move_by(start_m, delta_m, feed_m_s));
    }

    void curve(std::vector<Move>& program) {
        const double step_m = scaled(5e-5, 2e-3);
        const double turn_rad = uniform(-0.3, 0.3);
        const double feed_m_s = scaled(0.01, 0.3);
        const double filament = uniform(0.0, 1.0) < 0.5 ? 0.03 : 0.0;
        double angle_rad = uniform(0.0, 6.28);
        for (double n = uniform(3.0, 80.0); n > 0.0; n -= 1.0) {
            add(program,
                {step_m * std::cos(angle_rad), step_m * std::sin(angle_rad), 0.0,
                 filament * step_m},
                feed_m_s);
            angle_rad += turn_rad;
        }
    }

    void reversals(std::vector<Move>& program) {
        double step_m = scaled(2e-4, 5e-3);
        const double feed_m_s = scaled(0.02, 0.3);
        for (double n = uniform(2.0, 30.0); n > 0.0; n -= 1.0) {
            add(program, {step_m, 0.0, 0.0, 0.03 * std::abs(step_m)}, feed_m_s);
            step_m *= -uniform(0.9, 1.0);
        }
    }

    void single(std::vector<Move>& program, double kind) {
        const double size_m = scaled(1e-6, 0.1);
        AxisArray delta_m{uniform(-size_m, size_m), uniform(-size_m, size_m)};
        if (kind > 0.8) delta_m[2] = uniform(-size_m, size_m) * 0.05;
        if (kind > 0.7) delta_m[kE] = uniform(-size_m, size_m) * 0.1;
        if (kind > 0.95) delta_m = {0.0, 0.0, 0.0, scaled(1e-4, 5e-3)};
        const bool rapid = uniform(0.0, 1.0) < 0.2;
        add(program, delta_m, rapid ? std::numeric_limits<double>::infinity() : scaled(0.005, 0.5));
        Move& move = program.back();
        move.rapid = rapid;
        if (uniform(0.0, 1.0) < 0.05) move.rest_before_s = uniform(0.0, 1.0) < 0.5 ? 0.0 : 0.25;
        if (uniform(0.0, 1.0) < 0.1) move.acceleration_cap_m_s2 = scaled(0.1, 10.0);
    }

    std::mt19937 engine_;
};

/// The whole program planned in one push.
inline std::vector<PlannedMove> plan(const PlanLimits& limits, std::span<const Move> moves) {
    LookAhead look_ahead(limits);
    std::vector<PlannedMove> planned;
    look_ahead.push(moves, planned);
    look_ahead.finish(planned);
    return planned;
}

}  // namespace planner::testing
