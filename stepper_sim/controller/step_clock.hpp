/// When a move reaches a distance, in controller ticks since the program began.
/// Model:   pieces of constant acceleration; the move's start is kept as whole ticks and a
///          fraction, so no error grows with the length of the program.
/// Formula: t = t_i + 2 d / (v_i + sqrt(v_i^2 + 2 a_i d)), d = s - s_i; the tick is t rounded to
///          the nearest
/// Symbols: s = distance along the move [m], s_i, t_i, v_i = start of phase i [m, s, m/s], a_i =
///          its acceleration [m/s2]
/// Valid:   s from 0 to the move's length; phases in order. This form of the root does not cancel
///          for small a or small d.
/// Source:  s = v t + a t^2 / 2 solved for t, rationalised; no reference needed
/// Checked by: StepClock.InvertsTheMotionOfEveryPhase
#pragma once

#include <array>
#include <cstdint>
#include <span>

#include "planner/kinematics/motor_move.hpp"

namespace stepper_sim::controller {

class StepClock {
  public:
    StepClock() = default;
    StepClock(const planner::MotorMove& move, std::int64_t tick_hz) { begin(move, tick_hz); }
    /// The same without a copy.
    void begin(const planner::MotorMove& move, std::int64_t tick_hz);

    /// The tick nearest to the moment the move reaches `distance_m`. Asking in increasing order
    /// is fastest, any order is right.
    std::int64_t tick_at(double distance_m);
    /// The ticks of places (first + i + 1/2) * `share_m` for all i of `out`: the same as tick_at, in
    /// one go.
    void ticks_at_middles(std::uint64_t first, double share_m, std::span<std::int64_t> out);
    /// The ticks of places in any order: the same as tick_at, in one go.
    void ticks_at(std::span<const double> places_m, std::span<std::int64_t> out) const;
    /// Ticks between two places `share_m` apart, at least, anywhere from the last asked place on.
    std::int64_t least_ticks(double share_m) const;
    /// The first period of length 1/`tick_hz` that begins at or after that moment.
    std::int64_t period_at(double distance_m);
    /// The tick nearest to the move's end.
    std::int64_t end_tick() const { return end_tick_; }

  private:
    static constexpr double kHalfTick = 0.5;

    /// Two places side by side: two roots and two quotients take the time of one.
    using Pair = double __attribute__((vector_size(2 * sizeof(double))));
    template <class Number>  // double or Pair
    struct PieceOf {
        Number start_m, speed_m_s, speed_squared, twice_acceleration;
        Number start_ticks, duration_ticks;
    };
    using Piece = PieceOf<double>;
    static PieceOf<Pair> pair_of(const Piece& a, const Piece& b);

    const Piece& piece_at(double distance_m);
    template <class Number>
    Number ticks_in(const PieceOf<Number>& piece, Number distance_m) const;
    double ticks_at(double distance_m);
    std::int64_t whole(double ticks) const;

    std::array<Piece, planner::kMaxPhases> pieces_{};
    std::array<double, planner::kMaxPhases> top_speed_m_s_{};  // of each
    int count_ = 0, current_ = 0;
    double tick_hz_ = 0.0;
    std::int64_t start_tick_ = 0, end_tick_ = 0;
};

}  // namespace stepper_sim::controller
