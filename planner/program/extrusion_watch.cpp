#include "planner/program/extrusion_watch.hpp"

#include <algorithm>
#include <cmath>

namespace planner {
namespace {

constexpr std::uint64_t kFewest = 6;  // Guess: fewer moves show no habit
constexpr double kBackShare = 0.25, kNearlyAll = 0.9, kHalf = 0.5;

double share(std::uint64_t part, std::uint64_t whole) {
    return whole == 0 ? 0.0 : static_cast<double>(part) / static_cast<double>(whole);
}

double target_m(const AxisArray& all_m, int slot) {
    return slot < 0 ? 0.0 : all_m[static_cast<std::size_t>(slot)];
}

}  // namespace

ExtrusionWatch::ExtrusionWatch(const ProgramSettings& settings)
    : x_(settings.axes.slot('X')),
      y_(settings.axes.slot('Y')),
      e_(settings.axes.slot('E')),
      last_x_m_(target_m(settings.start_m, x_)),
      last_y_m_(target_m(settings.start_m, y_)),
      last_e_m_(target_m(settings.start_m, e_)) {}

void ExtrusionWatch::take(std::span<const Command> commands, bool relative) {
    if (e_ < 0 || watched_ >= kWatched) {
        return;
    }
    for (const Command& command : commands.first(static_cast<std::size_t>(
             std::min<std::uint64_t>(commands.size(), kWatched - watched_)))) {
        const double x_m = target_m(command.target_m, x_), y_m = target_m(command.target_m, y_),
                     e_m = target_m(command.target_m, e_);
        const double dx_m = x_m - last_x_m_, dy_m = y_m - last_y_m_;
        const double path_m = std::sqrt(dx_m * dx_m + dy_m * dy_m);
        if (command.e_word && path_m > 0.0) {
            const double feed_m = e_m - last_e_m_;
            relative ? as_distance(command, feed_m, path_m) : as_position(command, feed_m);
        }
        last_x_m_ = x_m;
        last_y_m_ = y_m;
        last_e_m_ = e_m;
    }
    watched_ += commands.size();
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
