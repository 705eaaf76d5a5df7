#include "stepper_sim/controller/step_clock.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stepper_sim {
namespace {

constexpr double kMostTicks = 0x1p53;  // beyond, a double does not tell ticks apart

}  // namespace

StepClock::StepClock(const planner::MotorMove& move, std::int64_t tick_hz)
    : count_(move.profile.count),
      tick_hz_(static_cast<double>(tick_hz)),
      start_tick_(move.start.whole_s * tick_hz) {
    double ticks = move.start.fraction_s * tick_hz_;
    for (int i = 0; i < count_; ++i) {
        const auto at = static_cast<std::size_t>(i);
        const planner::Phase& phase = move.profile.phases[at];
        pieces_[at] = {phase.start_distance_m,
                       phase.start_speed_m_s,
                       phase.start_speed_m_s * phase.start_speed_m_s,
                       2.0 * phase.acceleration_m_s2,
                       ticks,
                       phase.duration_s * tick_hz_};
        ticks += pieces_[at].duration_ticks;
    }
    end_tick_ = start_tick_ + static_cast<std::int64_t>(ticks + kHalfTick);
}

const StepClock::Piece& StepClock::piece_at(double distance_m) {
    if (distance_m < pieces_[static_cast<std::size_t>(current_)].start_m) current_ = 0;
    while (current_ + 1 < count_ &&
           distance_m >= pieces_[static_cast<std::size_t>(current_) + 1].start_m) {
        ++current_;
    }
    return pieces_[static_cast<std::size_t>(current_)];
}

double StepClock::ticks_in(const Piece& piece, double distance_m) const {
    constexpr double kTiny_m = 1e-200;  // instead of nothing, which would be 0/0 at rest
    const double d = std::max(distance_m - piece.start_m, kTiny_m);
    const double radicand = std::max(piece.speed_squared + piece.twice_acceleration * d, 0.0);
    const double ticks = 2.0 * d * tick_hz_ / (piece.speed_m_s + std::sqrt(radicand));
    return piece.start_ticks + std::min(ticks, piece.duration_ticks);
}

void StepClock::ticks_at_middles(std::uint64_t first, double share_m, std::span<std::int64_t> out) {
    const auto place = [&](std::size_t i) {
        return (static_cast<double>(first + i) + 0.5) * share_m;
    };
    for (std::size_t i = 0; i < out.size();) {
        const Piece piece = piece_at(place(i));
        std::size_t end = out.size();
        if (current_ + 1 < count_ &&
            place(end - 1) >= pieces_[static_cast<std::size_t>(current_) + 1].start_m) {
            const double next_m = pieces_[static_cast<std::size_t>(current_) + 1].start_m;
            std::size_t low = i, high = end - 1;  // place(low) lies before next_m, place(high) not
            while (high - low > 1) {
                const std::size_t middle = low + (high - low) / 2;
                (place(middle) < next_m ? low : high) = middle;
            }
            end = high;
        }
        for (; i < end; ++i) {
            out[i] = start_tick_ + static_cast<std::int64_t>(ticks_in(piece, place(i)) + kHalfTick);
        }
    }
}

std::int64_t StepClock::least_ticks(double share_m) const {
    // Of the largest number of ticks counted from the last whole second: far more than the roundings
    // of two moments; a bound too low by so little costs nothing.
    constexpr double kRoundings = 64.0 * std::numeric_limits<double>::epsilon();
    double fastest_m_s = 0.0;
    for (int i = current_; i < count_; ++i) {
        const Piece& piece = pieces_[static_cast<std::size_t>(i)];
        const double change_m_s =
            0.5 * piece.twice_acceleration * (piece.duration_ticks / tick_hz_);
        fastest_m_s = std::max(fastest_m_s, piece.speed_m_s + std::max(change_m_s, 0.0));
    }
    const double rounding = kRoundings * static_cast<double>(end_tick_ - start_tick_ + 1);
    const double ticks = share_m / fastest_m_s * tick_hz_ - rounding;
    return ticks >= 1.0 && ticks < kMostTicks ? static_cast<std::int64_t>(ticks) : 0;
}

std::int64_t StepClock::period_at(double distance_m) {
    return start_tick_ + static_cast<std::int64_t>(std::ceil(ticks_at(distance_m)));
}

}  // namespace stepper_sim
