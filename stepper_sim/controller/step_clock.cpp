#include "stepper_sim/controller/step_clock.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stepper_sim::controller {
namespace {

constexpr double kMostTicks = 0x1p53;  // beyond, a double does not tell ticks apart
constexpr double kNowhere_m = std::numeric_limits<double>::infinity();

double root_of(double x) {
    return std::sqrt(x);
}
template <class Pair>
Pair root_of(Pair x) {
    return Pair{std::sqrt(x[0]), std::sqrt(x[1])};
}

}  // namespace

void StepClock::begin(const planner::MotorMove& move, std::int64_t tick_hz) {
    count_ = move.profile.count;
    current_ = 0;
    tick_hz_ = static_cast<double>(tick_hz);
    start_tick_ = move.start.whole_s * tick_hz;
    double ticks = move.start.fraction_s * tick_hz_;
    for (int i = 0; i < count_; ++i) {
        const auto at = static_cast<std::size_t>(i);
        const planner::Phase& phase = move.profile.phases[at];
        const double change_m_s = phase.acceleration_m_s2 * phase.duration_s;
        pieces_[at] = {phase.start_distance_m,
                       phase.start_speed_m_s,
                       phase.start_speed_m_s * phase.start_speed_m_s,
                       2.0 * phase.acceleration_m_s2,
                       ticks,
                       phase.duration_s * tick_hz_};
        top_speed_m_s_[at] = phase.start_speed_m_s + std::max(change_m_s, 0.0);
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

inline StepClock::PieceOf<StepClock::Pair> StepClock::pair_of(const Piece& a, const Piece& b) {
    return {Pair{a.start_m, b.start_m},
            Pair{a.speed_m_s, b.speed_m_s},
            Pair{a.speed_squared, b.speed_squared},
            Pair{a.twice_acceleration, b.twice_acceleration},
            Pair{a.start_ticks, b.start_ticks},
            Pair{a.duration_ticks, b.duration_ticks}};
}

template <class Number>
inline Number StepClock::ticks_in(const PieceOf<Number>& piece, Number distance_m) const {
    constexpr double kTiny_m = 1e-200;  // instead of nothing, which would be 0/0 at rest
    const Number tiny_m = Number{} + kTiny_m;
    const Number beyond_m = distance_m - piece.start_m;
    const Number d = beyond_m > tiny_m ? beyond_m : tiny_m;
    const Number square = piece.speed_squared + piece.twice_acceleration * d;
    const Number radicand = square > 0.0 ? square : Number{};
    const Number ticks = 2.0 * d * tick_hz_ / (piece.speed_m_s + root_of(radicand));
    return piece.start_ticks + (ticks < piece.duration_ticks ? ticks : piece.duration_ticks);
}

inline std::int64_t StepClock::whole(double ticks) const {
    return start_tick_ + static_cast<std::int64_t>(ticks + kHalfTick);
}

double StepClock::ticks_at(double distance_m) {
    return ticks_in(piece_at(distance_m), distance_m);
}

std::int64_t StepClock::tick_at(double distance_m) {
    return whole(ticks_at(distance_m));
}

void StepClock::ticks_at_middles(std::uint64_t first, double share_m, std::span<std::int64_t> out) {
    const double middle = static_cast<double>(static_cast<std::int64_t>(first)) + 0.5;
    const auto place = [&](std::size_t i) {
        return (middle + static_cast<double>(static_cast<std::int64_t>(i))) * share_m;
    };
    for (std::size_t i = 0; i < out.size();) {
        const Piece& piece = piece_at(place(i));
        const PieceOf<Pair> pair = pair_of(piece, piece);
        std::size_t end = out.size();
        if (current_ + 1 < count_ &&
            place(end - 1) >= pieces_[static_cast<std::size_t>(current_) + 1].start_m) {
            const double next_m = pieces_[static_cast<std::size_t>(current_) + 1].start_m;
            std::size_t low = i, high = end - 1;  // place(low) lies before next_m, place(high) not
            while (high - low > 1) {
                const std::size_t between = low + (high - low) / 2;
                (place(between) < next_m ? low : high) = between;
            }
            end = high;
        }
        for (; i + 1 < end; i += 2) {
            const Pair ticks = ticks_in(pair, Pair{place(i), place(i + 1)});
            out[i] = whole(ticks[0]);
            out[i + 1] = whole(ticks[1]);
        }
        if (i < end) {
            out[i] = whole(ticks_in(piece, place(i)));
            ++i;
        }
    }
}

void StepClock::ticks_at(std::span<const double> places_m, std::span<std::int64_t> out) const {
    const double second_m = count_ > 1 ? pieces_[1].start_m : kNowhere_m;
    const double third_m = count_ > 2 ? pieces_[2].start_m : kNowhere_m;
    const auto piece_of = [&](double at_m) -> const Piece& {
        return pieces_[static_cast<std::size_t>(at_m >= second_m) +
                       static_cast<std::size_t>(at_m >= third_m)];
    };
    for (std::size_t i = 0; i < places_m.size(); i += 2) {
        const std::size_t next = std::min(i + 1, places_m.size() - 1);
        const Pair at_m{places_m[i], places_m[next]};
        const Pair ticks = ticks_in(pair_of(piece_of(at_m[0]), piece_of(at_m[1])), at_m);
        out[i] = whole(ticks[0]);
        out[next] = whole(ticks[1]);
    }
}

std::int64_t StepClock::least_ticks(double share_m) const {
    // Of the largest number of ticks counted from the last whole second: far more than the roundings
    // of two moments; a bound too low by so little costs nothing.
    constexpr double kRoundings = 64.0 * std::numeric_limits<double>::epsilon();
    double fastest_m_s = 0.0;
    for (int i = current_; i < count_; ++i) {
        fastest_m_s = std::max(fastest_m_s, top_speed_m_s_[static_cast<std::size_t>(i)]);
    }
    const double rounding = kRoundings * static_cast<double>(end_tick_ - start_tick_ + 1);
    const double ticks = share_m / fastest_m_s * tick_hz_ - rounding;
    return ticks >= 1.0 && ticks < kMostTicks ? static_cast<std::int64_t>(ticks) : 0;
}

std::int64_t StepClock::period_at(double distance_m) {
    return start_tick_ + static_cast<std::int64_t>(std::ceil(ticks_at(distance_m)));
}

}  // namespace stepper_sim::controller
