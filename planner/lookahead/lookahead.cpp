#include "planner/lookahead/lookahead.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "planner/lookahead/corner.hpp"

namespace planner {
namespace {

// In roundings, half an epsilon each; lookahead.hpp says what for.
constexpr double kReserve = 16.0 * std::numeric_limits<double>::epsilon() / 2.0;
constexpr std::size_t kSettleMoves = 512;   // an unlimited window looks for final moves this often
constexpr std::size_t kCompactMoves = 256;  // released moves are forgotten this many at a time

double gain_of(const MoveLimits& move) {
    const double gain = 2.0 * move.acceleration_m_s2 * move.length_m;
    return std::max(0.0, gain - kReserve * (move.nominal_speed_m_s * move.nominal_speed_m_s));
}

}  // namespace

LookAhead::LookAhead(const PlanLimits& limits)
    : limits_(limits),
      window_(static_cast<std::size_t>(std::clamp(limits.window_moves, 0, kMaxWindowMoves))) {}

void LookAhead::push(std::span<const Move> moves, std::vector<PlannedMove>& planned) {
    for (const Move& move : moves) {
        take(move);
        if (window_ == 0) {
            if (junctions_.size() - fresh_ > kSettleMoves) {
                release_settled(planned);
            }
        } else if (held() == window_) {
            release_oldest(planned);
        }
    }
}

void LookAhead::finish(std::vector<PlannedMove>& planned) {
    update_limits();
    release(held(), planned);
    junctions_.clear();
    head_ = 0;
    fresh_ = 0;
    speed_m_s_ = 0.0;
    speed_squared_ = 0.0;
}

void LookAhead::take(const Move& move) {
    const MoveLimits& last = newest_[turn_];
    turn_ = 1 - turn_;
    MoveLimits& limits = newest_[turn_];
    set_move_limits(limits_, move, limits);
    if (held_.size() == junctions_.size()) {
        held_.resize(2 * held_.size() + kCompactMoves);
    }
    PlannedMove& plan = held_[junctions_.size()];
    plan.nominal_speed_m_s = limits.nominal_speed_m_s;
    plan.acceleration_m_s2 = limits.acceleration_m_s2;
    plan.move = move;
    junctions_.push_back(Junction{0.0, 0.0, gain_of(limits)});
    if (held() > 1 && move.rest_before_s < 0.0) {
        const double corner_m_s = plan_corner_speed(limits_, last, limits);
        junctions_[junctions_.size() - 2].corner = corner_m_s * corner_m_s;
    }
}

/// The backward pass from rest at the end of the newest move. Limits only rise as moves come in,
/// and a limit that did not change leaves all before it as they were.
void LookAhead::update_limits() {
    if (held() == 0) {
        return;
    }
    for (std::size_t i = junctions_.size() - 1; i > head_; --i) {
        const Junction& next = junctions_[i];
        Junction& junction = junctions_[i - 1];
        const double limit = std::min(junction.corner, next.limit + next.gain);
        if (limit == junction.limit && i - 1 < fresh_) {
            break;
        }
        junction.limit = limit;
    }
    fresh_ = junctions_.size() - 1;
}

void LookAhead::release(std::size_t count, std::vector<PlannedMove>& planned) {
    for (std::size_t i = head_; i < head_ + count; ++i) {
        speed_squared_ = std::min(junctions_[i].limit, speed_squared_ + junctions_[i].gain);
        PlannedMove& move = planned.emplace_back(held_[i]);
        move.entry_speed_m_s = speed_m_s_;
        speed_m_s_ = std::sqrt(speed_squared_);
        move.exit_speed_m_s = speed_m_s_;
    }
    head_ += count;
    if (head_ >= std::max(kCompactMoves, held())) {
        const auto released = static_cast<std::ptrdiff_t>(head_);
        const auto end = static_cast<std::ptrdiff_t>(junctions_.size());
        std::copy(held_.begin() + released, held_.begin() + end, held_.begin());
        junctions_.erase(junctions_.begin(), junctions_.begin() + released);
        fresh_ -= std::min(fresh_, head_);
        head_ = 0;
    }
}

/// A limit from a nearer horizon is still low enough; it only matters where it slows the move down.
void LookAhead::release_oldest(std::vector<PlannedMove>& planned) {
    const Junction& oldest = junctions_[head_];
    if (oldest.limit < std::min(oldest.corner, speed_squared_ + oldest.gain)) {
        update_limits();
    }
    release(1, planned);
}

/// A junction at its own corner speed stays there whatever follows, and so does everything before
/// it.
void LookAhead::release_settled(std::vector<PlannedMove>& planned) {
    update_limits();
    std::size_t end = junctions_.size() - 1;
    while (end > head_ && junctions_[end - 1].limit < junctions_[end - 1].corner) {
        --end;
    }
    release(end - head_, planned);
    constexpr std::size_t kMost = 2 * static_cast<std::size_t>(kMaxWindowMoves);
    if (held() >= kMost) {
        release(held() - kMost / 2, planned);
    }
}

}  // namespace planner
