#include "stepper_sim/dynamics/windows.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

namespace stepper_sim::dynamics {
namespace {

constexpr double kFastStretchWeight = 2.0;  // about half of those simulated slipped (windows.hpp)
constexpr double kDecayTimes = 3.0;         // e^-3 = 1/20
// Guesses: some periods of the slowest rotors (10 Hz and up); what a simulation of 2 s can bear.
constexpr double kShortestRunIn_s = 0.1;
constexpr double kLongestRunIn_s = 0.5;
constexpr double kCalmShare = 0.5;     // of the base speed: currents are at their references there
constexpr double kCalmSearch_s = 0.5;  // Guess: prints stop or turn more often than that

bool riskier(const Window& a, const Window& b) {
    const double risk_a = window_risk(a);
    const double risk_b = window_risk(b);
    return risk_a != risk_b ? risk_a > risk_b : a.begin_s < b.begin_s;
}

}  // namespace

double window_risk(const Window& window) {
    return window.long_fast_stretch ? kFastStretchWeight * window.ratio : window.ratio;
}

WindowRule window_rule(const AxisDynamics& axis, double pass_ratio) {
    const VibrationMode slow = vibration_modes(axis).mode[0];
    WindowRule rule;
    rule.pass_ratio = pass_ratio;
    rule.calm_rate_rad_s = kCalmShare * base_rate_rad_s(axis);
    rule.run_in_s = std::clamp(kDecayTimes / std::max(slow.damping * slow.rate_rad_s, 1.0),
                               kShortestRunIn_s, kLongestRunIn_s);
    rule.longest_run_in_s = rule.run_in_s + kCalmSearch_s;
    return rule;
}

Window WindowBuilder::begin_window(const MoveScreen& move, double start_s) const {
    // The latest calm start at least a run-in ago; failing that, the calmest in reach.
    Recent from{start_s, move.start_rate_rad_s, move.top_rate_rad_s, moves_};
    for (std::size_t i = recent_.size(); i-- > 0;) {
        const Recent& earlier = recent_[i];
        const double speed = std::fabs(earlier.start_rate_rad_s);
        const bool early_enough = earlier.start_s <= start_s - rule_.run_in_s;
        const bool calm = early_enough && speed <= rule_.calm_rate_rad_s;
        if (calm || !early_enough || speed <= std::fabs(from.start_rate_rad_s)) from = earlier;
        if (calm) break;
    }
    Window window;
    window.run_in_s = from.start_s;
    window.run_in_move = from.move;
    window.start_rate_rad_s = from.start_rate_rad_s;
    if (start_s - from.start_s > rule_.longest_simulated_s) {
        window.run_in_s = start_s - rule_.longest_simulated_s;
        window.begins_inside = true;
    }
    window.begin_s = start_s;
    window.first_move = moves_;
    for (const Recent& recent : recent_)
        if (recent.move >= from.move)
            window.top_rate_rad_s = std::max(window.top_rate_rad_s, recent.top_rate_rad_s);
    return window;
}

void WindowBuilder::add(const MoveScreen& move, double start_s) {
    const double end_s = start_s + move.duration_s;
    const bool long_fast_stretch = move.fast_stretch_s > rule_.long_fast_stretch_s;
    const bool suspicious = move.ratio >= rule_.pass_ratio || long_fast_stretch;
    if (is_open_ && start_s < open_.end_s)
        open_.top_rate_rad_s = std::max(open_.top_rate_rad_s, move.top_rate_rad_s);
    if (suspicious) {
        const bool joins = is_open_ && start_s - rule_.run_in_s <= open_.end_s &&
                           end_s - open_.begin_s <= rule_.longest_s;
        if (!joins) {
            close();
            open_ = begin_window(move, start_s);
            is_open_ = true;
        }
        open_.top_rate_rad_s = std::max(open_.top_rate_rad_s, move.top_rate_rad_s);
        open_.end_s = end_s + rule_.tail_s;
        const double latest_s = open_.begin_s + rule_.longest_simulated_s;
        open_.cut_off = open_.end_s > latest_s;
        open_.end_s = std::min(open_.end_s, latest_s);
        open_.last_move = moves_;
        open_.long_fast_stretch = open_.long_fast_stretch || long_fast_stretch;
        if (move.ratio > open_.ratio) {
            open_.ratio = move.ratio;
            open_.ratio_time_s = start_s + move.peak_time_s;
            open_.ratio_rate_rad_s = move.peak_rate_rad_s;
            open_.worst_share = move.worst_share;
        }
    } else if (is_open_ && start_s - rule_.run_in_s > open_.end_s) {
        close();
    }
    recent_.push_back({start_s, move.start_rate_rad_s, move.top_rate_rad_s, moves_});
    // One move older than the reach stays: a long move may be the only start there is.
    while (recent_.size() > 1 && recent_[1].start_s < start_s - rule_.longest_run_in_s)
        recent_.pop_front();
    ++moves_;
}

void WindowBuilder::close() {
    if (!is_open_) return;
    is_open_ = false;
    ++found_;
    kept_.push_back(open_);
    if (kept_.size() < 2 * rule_.most_kept) return;
    const auto cut = std::next(kept_.begin(), static_cast<std::ptrdiff_t>(rule_.most_kept));
    std::nth_element(kept_.begin(), cut, kept_.end(), riskier);
    kept_.erase(cut, kept_.end());
}

std::vector<Window> WindowBuilder::finish() {
    close();
    std::sort(kept_.begin(), kept_.end(), riskier);
    if (kept_.size() > rule_.most_kept) kept_.resize(rule_.most_kept);
    return std::exchange(kept_, {});
}

}  // namespace stepper_sim::dynamics
