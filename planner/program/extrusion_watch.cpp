#include "planner/program/extrusion_watch.hpp"

#include <cmath>

namespace planner {
namespace {

constexpr std::uint64_t kFewest = 6;  // Guess: fewer moves show no habit
constexpr double kBackShare = 0.25, kNearlyAll = 0.9, kHalf = 0.5;

double share(std::uint64_t part, std::uint64_t whole) {
    return whole == 0 ? 0.0 : static_cast<double>(part) / static_cast<double>(whole);
}

}  // namespace

ExtrusionWatch::ExtrusionWatch(const ProgramSettings& settings)
    : x_(settings.axes.slot('X')),
      y_(settings.axes.slot('Y')),
      e_(settings.axes.slot('E')),
      last_m_(settings.start_m) {}

void ExtrusionWatch::take(std::span<const Command> commands, bool relative) {
    if (e_ < 0) {
        return;
    }
    const auto change = [&](const Command& command, int slot) {
        const auto s = static_cast<std::size_t>(slot);
        return slot < 0 ? 0.0 : command.target_m[s] - last_m_[s];
    };
    for (const Command& command : commands) {
        const double path_m = std::hypot(change(command, x_), change(command, y_));
        if (command.e_word && path_m > 0.0) {
            const double feed_m = change(command, e_);
            relative ? as_distance(command, feed_m, path_m) : as_position(command, feed_m);
        }
        last_m_ = command.target_m;
    }
}

void ExtrusionWatch::as_position(const Command& command, double feed_m) {
    if (feed_m > 0.0) {
        ++positions_.forward;
        return;
    }
    ++(feed_m < 0.0 ? positions_.back : positions_.still);
    if (positions_.first_line == 0) {
        positions_.first_line = command.line;
    }
}

void ExtrusionWatch::as_distance(const Command& command, double feed_m, double path_m) {
    auto& seen = distances_;
    const double step_share = (feed_m - seen.last_m) / path_m, now_share = feed_m / path_m;
    if (seen.count++ == 0) {
        seen.first_line = command.line;
    } else if (step_share > 0.0) {
        ++seen.growing;
        if (seen.last_step_share > 0.0 && now_share > 0.0 && seen.last_share > 0.0) {
            ++seen.compared;
            const bool steadier = std::fabs(std::log(step_share / seen.last_step_share)) <
                                  std::fabs(std::log(now_share / seen.last_share));
            seen.steadier_as_positions += steadier ? 1 : 0;
        }
    }
    seen.last_m = feed_m;
    seen.last_share = now_share;
    seen.last_step_share = step_share;
}

void ExtrusionWatch::finish(ProgramLog& log) const {
    const auto& [forward, back, still, first_line] = positions_;
    const std::uint64_t all = forward + back + still;
    const bool goes_back = share(back, forward + back) >= kBackShare;
    const bool stands = forward + back > 0 && share(still, all) >= kNearlyAll;
    if (all >= kFewest && (goes_back || stands)) {
        log.spot(Spot{SpotKind::e_like_distances, back + still, first_line, {}});
    }
    if (distances_.count >= kFewest &&
        share(distances_.growing, distances_.count - 1) >= kNearlyAll &&
        share(distances_.steadier_as_positions, distances_.compared) >= kHalf) {
        log.spot(Spot{SpotKind::e_like_positions, distances_.count, distances_.first_line, {}});
    }
}

}  // namespace planner
