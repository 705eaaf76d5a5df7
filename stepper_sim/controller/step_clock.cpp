#include "stepper_sim/controller/step_clock.hpp"

#include <algorithm>
#include <cmath>

namespace stepper_sim {

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

double StepClock::ticks_at(double distance_m) {
    if (count_ == 0) return 0.0;
    if (distance_m < pieces_[static_cast<std::size_t>(current_)].start_m) current_ = 0;
    while (current_ + 1 < count_ &&
           distance_m >= pieces_[static_cast<std::size_t>(current_) + 1].start_m) {
        ++current_;
    }
    const Piece& piece = pieces_[static_cast<std::size_t>(current_)];
    const double d = distance_m - piece.start_m;
    if (d <= 0.0) return piece.start_ticks;
    const double radicand = std::max(piece.speed_squared + piece.twice_acceleration * d, 0.0);
    const double ticks = 2.0 * d * tick_hz_ / (piece.speed_m_s + std::sqrt(radicand));
    return piece.start_ticks + std::min(ticks, piece.duration_ticks);
}

std::int64_t StepClock::period_at(double distance_m) {
    return start_tick_ + static_cast<std::int64_t>(std::ceil(ticks_at(distance_m)));
}

}  // namespace stepper_sim
