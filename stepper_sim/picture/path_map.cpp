#include "stepper_sim/picture/path_map.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

namespace stepper_sim::picture {

namespace {

constexpr double kLevel_m = 10e-6;          // heights nearer than this are one
constexpr std::size_t kMostLevels = 20000;  // beyond this all count to the last one
constexpr double kUnseen = 1.0 / 600.0;     // of the part's size: about two pixels of a map

double coordinate(const planner::AxisArray& position, int slot) {
    return slot < 0 ? 0.0 : position[static_cast<std::size_t>(slot)];
}

double badness(const MapPiece& piece) {
    return std::max(static_cast<double>(piece.torque_use), static_cast<double>(piece.modal_ratio));
}

/// Keeps the worst of each figure; line and time are those of the worse move.
void take_worst(MapPiece& into, const MapPiece& other) {
    if (badness(other) > badness(into)) {
        into.line = other.line;
        into.time_s = other.time_s;
    }
    if (other.torque_use > into.torque_use) {
        into.torque_use = other.torque_use;
        into.torque_motor = other.torque_motor;
    }
    if (other.modal_ratio > into.modal_ratio) {
        into.modal_ratio = other.modal_ratio;
        into.ratio_motor = other.ratio_motor;
    }
    into.speed_m_s = std::max(into.speed_m_s, other.speed_m_s);
}

/// How far the joint of two pieces lies from the straight line that would replace them.
double shift_m(const MapPiece& a, const MapPiece& b) {
    const auto dx = static_cast<double>(b.x1_m - a.x0_m);
    const auto dy = static_cast<double>(b.y1_m - a.y0_m);
    const auto px = static_cast<double>(a.x1_m - a.x0_m);
    const auto py = static_cast<double>(a.y1_m - a.y0_m);
    const double length2 = dx * dx + dy * dy;
    const double along = length2 > 0.0 ? std::clamp((px * dx + py * dy) / length2, 0.0, 1.0) : 0.0;
    return std::hypot(px - along * dx, py - along * dy);
}

bool joined(const MapPiece& a, const MapPiece& b) {
    return a.level == b.level && a.work == b.work && a.x1_m == b.x0_m && a.y1_m == b.y0_m;
}

}  // namespace

PathMapBuilder::PathMapBuilder(int x, int y, int z, int e, std::size_t most_pieces)
    : x_(x), y_(y), z_(z), e_(e), most_(most_pieces) {
    map_.has_x = x >= 0;
    map_.has_y = y >= 0;
}

std::uint16_t PathMapBuilder::level_of(double height_m) {
    const auto key = static_cast<long>(std::llround(height_m / kLevel_m));
    const auto found = level_by_height_.find(key);
    if (found != level_by_height_.end()) return found->second;
    if (map_.levels_m.size() >= kMostLevels)
        return static_cast<std::uint16_t>(map_.levels_m.size() - 1);
    const auto index = static_cast<std::uint16_t>(map_.levels_m.size());
    map_.levels_m.push_back(static_cast<double>(key) * kLevel_m);
    level_by_height_.emplace(key, index);
    return index;
}

void PathMapBuilder::add(const planner::MotorMove& move, MapPiece worst) {
    if (!move.arc_chord) ++map_.moves;  // an arc is one
    worst.x0_m = static_cast<float>(coordinate(move.tool_start_m, x_));
    worst.y0_m = static_cast<float>(coordinate(move.tool_start_m, y_));
    worst.x1_m = static_cast<float>(coordinate(move.tool_end_m, x_));
    worst.y1_m = static_cast<float>(coordinate(move.tool_end_m, y_));
    worst.work = !move.rapid &&
                 (e_ < 0 || coordinate(move.tool_end_m, e_) > coordinate(move.tool_start_m, e_));
    const bool across = worst.x0_m != worst.x1_m || worst.y0_m != worst.y1_m;
    if (worst.work && across) level_ = level_of(coordinate(move.tool_end_m, z_));
    worst.level = level_;
    worst.line = static_cast<std::uint32_t>(
        std::min<std::uint64_t>(move.line, std::numeric_limits<std::uint32_t>::max()));
    worst.time_s = static_cast<float>(move.start.seconds());
    map_.pieces.push_back(worst);
    if (map_.pieces.size() >= 2 * most_) thin();
}

double PathMapBuilder::extent_m() const {
    float low_x = 0, high_x = 0, low_y = 0, high_y = 0;
    for (std::size_t i = 0; i < map_.pieces.size(); ++i) {
        const MapPiece& piece = map_.pieces[i];
        low_x = i == 0 ? piece.x1_m : std::min(low_x, piece.x1_m);
        high_x = i == 0 ? piece.x1_m : std::max(high_x, piece.x1_m);
        low_y = i == 0 ? piece.y1_m : std::min(low_y, piece.y1_m);
        high_y = i == 0 ? piece.y1_m : std::max(high_y, piece.y1_m);
    }
    return std::max(1e-3, static_cast<double>(std::max(high_x - low_x, high_y - low_y)));
}

void PathMapBuilder::merge_pieces() {
    std::size_t kept = 0;
    for (const MapPiece& next : map_.pieces) {
        if (kept > 0 && joined(map_.pieces[kept - 1], next)) {
            MapPiece& last = map_.pieces[kept - 1];
            const double shifted =
                static_cast<double>(std::max(last.shifted_m, next.shifted_m)) + shift_m(last, next);
            if (shifted <= tolerance_m_) {
                take_worst(last, next);
                last.x1_m = next.x1_m;
                last.y1_m = next.y1_m;
                last.shifted_m = static_cast<float>(shifted);
                map_.merged_within_m = tolerance_m_;
                continue;
            }
        }
        map_.pieces[kept++] = next;
    }
    map_.pieces.resize(kept);
}

void PathMapBuilder::group_levels() {
    struct Group {
        double worst_badness = -1.0;
        std::uint16_t worst_level = 0;
        float torque = 0, ratio = 0, speed = 0;  // largest kept so far
        void raise(const MapPiece& piece) {
            torque = std::max(torque, piece.torque_use);
            ratio = std::max(ratio, piece.modal_ratio);
            speed = std::max(speed, piece.speed_m_s);
        }
    };
    std::vector<Group> groups(map_.levels_m.size() / map_.levels_per_group + 1);
    const auto group_of = [&](const MapPiece& piece) -> Group& {
        return groups[piece.level / map_.levels_per_group];
    };
    for (const MapPiece& piece : map_.pieces) {
        Group& group = group_of(piece);
        if (badness(piece) <= group.worst_badness) continue;
        group.worst_badness = badness(piece);
        group.worst_level = piece.level;
    }
    for (const MapPiece& piece : map_.pieces)
        if (piece.level == group_of(piece).worst_level) group_of(piece).raise(piece);
    std::erase_if(map_.pieces, [&](MapPiece& piece) {
        Group& group = group_of(piece);
        if (piece.level == group.worst_level) return false;
        const bool calm = piece.torque_use <= group.torque && piece.modal_ratio <= group.ratio &&
                          piece.speed_m_s <= group.speed;
        group.raise(piece);  // the next must be worse still
        piece.level = group.worst_level;
        return calm;
    });
}

/// Nothing joins any more: the worst stay.
void PathMapBuilder::drop_calmest() {
    std::vector<double> ranked;
    for (const MapPiece& piece : map_.pieces)
        ranked.push_back(badness(piece));
    std::nth_element(ranked.begin(), ranked.begin() + static_cast<std::ptrdiff_t>(most_),
                     ranked.end(), std::greater<>());
    const double least = ranked[most_];
    auto spare =
        static_cast<std::ptrdiff_t>(most_) -
        std::count_if(ranked.begin(), ranked.end(), [&](double value) { return value > least; });
    std::erase_if(map_.pieces, [&](const MapPiece& piece) {
        return badness(piece) < least || (badness(piece) == least && spare-- <= 0);
    });
}

void PathMapBuilder::thin() {
    // As far as is needed already, before anything is made coarser.
    if (map_.pieces.size() > most_) merge_pieces();
    if (map_.pieces.size() > most_ && map_.levels_per_group > 1) group_levels();
    while (map_.pieces.size() > most_) {
        const bool unseen = 2.0 * tolerance_m_ < extent_m() * kUnseen;
        if (!unseen && map_.levels_per_group < map_.levels_m.size()) {
            map_.levels_per_group *= 2;
            group_levels();
        } else if (tolerance_m_ < 4.0 * extent_m()) {
            tolerance_m_ *= 2.0;
            merge_pieces();
        } else {
            drop_calmest();
        }
    }
}

/// Only heights that still have pieces, in order, so that a slider can run over them.
void PathMapBuilder::sort_levels() {
    std::map<double, std::uint16_t> used;
    for (const MapPiece& piece : map_.pieces)
        used.emplace(map_.levels_m[piece.level], std::uint16_t{0});
    std::vector<double> heights;
    for (auto& [height_m, index] : used) {
        index = static_cast<std::uint16_t>(heights.size());
        heights.push_back(height_m);
    }
    for (MapPiece& piece : map_.pieces)
        piece.level = used.at(map_.levels_m[piece.level]);
    map_.levels_m = std::move(heights);
}

PathMap PathMapBuilder::finish() {
    if (map_.levels_m.empty()) map_.levels_m.push_back(0.0);  // no work anywhere
    thin();
    sort_levels();
    return std::move(map_);
}

}  // namespace stepper_sim::picture
