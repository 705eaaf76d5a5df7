#include "planner/path/path_builder.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string_view>

namespace planner {
namespace {

constexpr double kTurn_rad = 2.0 * std::numbers::pi;

// The feed applies to the first of these groups that moves.
constexpr std::array<std::string_view, 4> kGroups = {"XYZ", "UVW", "ABC", "E"};

std::uint8_t group_of(char letter) {
    for (std::size_t i = 0; i < kGroups.size(); ++i) {
        if (kGroups[i].find(letter) != std::string_view::npos) {
            return static_cast<std::uint8_t>(i);
        }
    }
    return 0;
}

// Positive angle of the arc in its own sense, at least a hair above zero: an arc that ends where it
// starts is a full turn.
double sweep_of(double from_rad, double to_rad, const ArcShape& shape, bool closed) {
    double sweep_rad = shape.clockwise ? from_rad - to_rad : to_rad - from_rad;
    if (closed) {
        sweep_rad = kTurn_rad;
    } else if (sweep_rad <= 0.0) {
        sweep_rad += kTurn_rad;
    }
    return sweep_rad + kTurn_rad * shape.full_turns;
}

double chord_angle(double radius_m, double tolerance_m) {
    constexpr double kWidest_rad = kTurn_rad / kLeastChordsPerTurn;
    if (tolerance_m >= radius_m) {
        return kWidest_rad;
    }
    // 1 - cos(a/2) = 2 sin^2(a/4): exact for tolerances far below the radius, where acos(1 - x) is
    // not.
    return std::min(kWidest_rad, 4.0 * std::asin(std::sqrt(0.5 * tolerance_m / radius_m)));
}

}  // namespace

PathBuilder::PathBuilder(const ProgramSettings& settings, const Length& arc_tolerance)
    : axes_(settings.axes),
      tolerance_m_(to_si(arc_tolerance)),
      feed_override_(settings.feed_override),
      position_m_(settings.start_m) {
    for (int slot = 0; slot < axes_.count(); ++slot) {
        group_[static_cast<std::size_t>(slot)] = group_of(axes_.letter(slot));
    }
}

Time PathBuilder::trailing_rest() const {
    return from_si<Time>(std::max(0.0, rest_s_));
}

void PathBuilder::rest(double seconds) {
    rest_s_ = std::max(0.0, rest_s_) + seconds;
}

void PathBuilder::push(std::span<const Command> commands, std::vector<Move>& moves) {
    push_some(commands, std::numeric_limits<std::size_t>::max(), moves);
}

std::size_t PathBuilder::push_some(std::span<const Command> commands, std::size_t most,
                                   std::vector<Move>& moves) {
    for (std::size_t i = 0; i < commands.size(); ++i) {
        const Command& command = commands[i];
        if (moves.size() >= most) {
            return i;
        }
        switch (command.kind) {
            case CommandKind::line:
                line(command, moves);
                break;
            case CommandKind::arc:
                if (!arc(command, most, moves)) {
                    return i;
                }
                break;
            case CommandKind::dwell:
                rest(command.seconds);
                break;
            case CommandKind::wait:
                rest(0.0);
                break;
            case CommandKind::set_acceleration:
                acceleration_cap_m_s2_ = command.acceleration_m_s2 > 0.0
                                             ? command.acceleration_m_s2
                                             : std::numeric_limits<double>::infinity();
                break;
        }
    }
    return commands.size();
}

double PathBuilder::feed_length(const AxisArray& end_m) const {
    std::array<double, kGroups.size()> squares{};
    for (int i = 0; i < axes_.count(); ++i) {
        const auto slot = static_cast<std::size_t>(i);
        const double delta_m = end_m[slot] - position_m_[slot];
        squares[group_[slot]] += delta_m * delta_m;
    }
    for (const double square : squares) {
        if (square > kStill_m * kStill_m) {
            return std::sqrt(square);
        }
    }
    return 0.0;
}

bool PathBuilder::add(const Command& command, const AxisArray& end_m, std::vector<Move>& moves) {
    const double length_m = feed_length(end_m);
    if (length_m == 0.0) {
        return false;
    }
    Move& move = moves.emplace_back();
    move.line = command.line;
    move.length_m = length_m;
    move.feed_m_s =
        feed_override_ *
        (command.inverse_time_s > 0.0 ? length_m / command.inverse_time_s : command.feed_m_s);
    move.acceleration_cap_m_s2 = acceleration_cap_m_s2_;
    move.rest_before_s = rest_s_;
    move.rapid = command.rapid;
    move.start_m = position_m_;
    move.end_m = end_m;
    position_m_ = end_m;
    rest_s_ = -1.0;
    return true;
}

void PathBuilder::line(const Command& command, std::vector<Move>& moves) {
    add(command, command.target_m, moves);
    if (command.exact_stop) {
        rest(0.0);
    }
}

PathBuilder::ArcCourse PathBuilder::begin_arc(const Command& command) {
    const ArcShape& shape = command.arc;
    const auto first = static_cast<std::uint8_t>(shape.first);
    const auto second = static_cast<std::uint8_t>(shape.second);
    const AxisArray& end_m = command.target_m;
    const double u0_m = position_m_[first] - shape.centre_first_m,
                 v0_m = position_m_[second] - shape.centre_second_m;
    const double u1_m = end_m[first] - shape.centre_first_m,
                 v1_m = end_m[second] - shape.centre_second_m;
    ArcCourse course{command, position_m_};
    course.start_radius_m = std::hypot(u0_m, v0_m);
    course.end_radius_m = std::hypot(u1_m, v1_m);
    course.from_rad = std::atan2(v0_m, u0_m);
    const bool closed = std::hypot(u1_m - u0_m, v1_m - v0_m) <= kStill_m;
    course.sweep_rad = sweep_of(course.from_rad, std::atan2(v1_m, u1_m), shape, closed);
    const double wanted =
        std::ceil(course.sweep_rad /
                  chord_angle(std::max(course.start_radius_m, course.end_radius_m), tolerance_m_));
    if (wanted > kMostChords && coarse_arcs_.count++ == 0) {
        coarse_arcs_.first_line = command.line;
    }
    course.chords = static_cast<int>(std::clamp(wanted, 1.0, static_cast<double>(kMostChords)));
    course.chord.inverse_time_s = command.inverse_time_s / course.chords;
    return course;
}

AxisArray PathBuilder::chord_end(const ArcCourse& course) const {
    const AxisArray& end_m = course.chord.target_m;
    if (course.done + 1 == course.chords) {
        return end_m;
    }
    const ArcShape& shape = course.chord.arc;
    const double share = static_cast<double>(course.done + 1) / course.chords;
    const double angle_rad =
        course.from_rad + (shape.clockwise ? -course.sweep_rad : course.sweep_rad) * share;
    const double radius_m =
        course.start_radius_m + (course.end_radius_m - course.start_radius_m) * share;
    AxisArray point_m = end_m;
    for (std::size_t slot = 0; slot < static_cast<std::size_t>(axes_.count()); ++slot) {
        point_m[slot] = course.start_m[slot] + (end_m[slot] - course.start_m[slot]) * share;
    }
    point_m[static_cast<std::uint8_t>(shape.first)] =
        shape.centre_first_m + radius_m * std::cos(angle_rad);
    point_m[static_cast<std::uint8_t>(shape.second)] =
        shape.centre_second_m + radius_m * std::sin(angle_rad);
    return point_m;
}

/// False where the arc goes on beyond `most` moves.
bool PathBuilder::arc(const Command& command, std::size_t most, std::vector<Move>& moves) {
    if (!course_) {
        course_ = begin_arc(command);
    }
    for (ArcCourse& course = *course_; course.done < course.chords; ++course.done) {
        if (moves.size() >= most) {
            return false;
        }
        if (add(course.chord, chord_end(course), moves)) {
            moves.back().arc_chord = course.inner;
            course.inner = true;
        }
    }
    course_.reset();
    if (command.exact_stop) {
        rest(0.0);
    }
    return true;
}

}  // namespace planner
