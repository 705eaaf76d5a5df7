#include <algorithm>
#include <cmath>

#include "planner/program/arc_words.hpp"
#include "planner/program/interpreter.hpp"
#include "planner/units/units_text.hpp"

namespace planner {
namespace {

struct PlaneLetters {
    char first, second;                // axes
    char first_offset, second_offset;  // centre words
    char other_offset;
};

constexpr PlaneLetters letters_of(Plane plane) {
    switch (plane) {
        case Plane::zx:
            return {'Z', 'X', 'K', 'I', 'J'};
        case Plane::yz:
            return {'Y', 'Z', 'J', 'K', 'I'};
        case Plane::xy:
            break;
    }
    return {'X', 'Y', 'I', 'J', 'K'};
}

constexpr double kMostTurns = 1000.0;

double in_mm(double metres) {
    return metres * 1e3;
}

std::string mm_text(double metres) {
    return format_number(in_mm(metres), 6) + " mm";
}

PlanePoint point(const AxisArray& position_m, const ArcShape& shape) {
    return {position_m[static_cast<std::size_t>(shape.first)],
            position_m[static_cast<std::size_t>(shape.second)]};
}

}  // namespace

bool Interpreter::arc(const Line& line, std::vector<Command>& out) {
    used_ |=
        letter_bit('I') | letter_bit('J') | letter_bit('K') | letter_bit('R') | letter_bit('P');
    const AxisArray target_m = target();
    ArcShape shape;
    shape.clockwise = state_.motion == Motion::arc_clockwise;
    bool good = arc_centre(line, target_m, shape);
    if (good && state_.inverse_time && !(line.has('F') && line.value('F') > 0.0)) {
        good = fail("program/inverse-time-feed", 1, "an arc without F above 0 under G93",
                    "an F word on every feed move in inverse time mode");
    }
    if (good && line.has('P')) {
        const double turns = line.value('P');
        if (!(turns >= 1.0 && turns <= kMostTurns) || turns != std::floor(turns)) {
            good = fail("program/arc-turns", line.column('P'), 'P' + format_number(turns, 8),
                        "a whole number of turns from 1 to 1000");
        } else {
            shape.full_turns = static_cast<int>(turns) - 1;
        }
    }
    if (!good) {
        state_.position_m = target_m;  // so that one bad arc is one error
        return false;
    }
    if (!state_.inverse_time && !state_.feed_given) {
        log_.spot(SpotKind::feed_never_set);
    }
    Command& command = emit(CommandKind::arc, out);
    emit_move(command, target_m, false);
    command.arc = shape;
    if (state_.inverse_time) {
        constexpr double kSecondsPerMinute = 60.0;
        command.feed_m_s = std::numeric_limits<double>::infinity();
        command.inverse_time_s = kSecondsPerMinute / line.value('F');
    }
    return true;
}

bool Interpreter::arc_centre(const Line& line, const AxisArray& target_m, ArcShape& shape) {
    const PlaneLetters letters = letters_of(state_.plane);
    const int first = settings_.axes.slot(letters.first);
    const int second = settings_.axes.slot(letters.second);
    if (first < 0 || second < 0) {
        return fail("program/missing-axis", 1, "an arc in a plane this machine lacks",
                    std::string("axes ") + letters.first + " and " + letters.second,
                    "describe both axes, or choose another plane with G17, G18 or G19");
    }
    shape.first = static_cast<std::int8_t>(first);
    shape.second = static_cast<std::int8_t>(second);
    if (line.has(letters.other_offset)) {
        if (line.value(letters.other_offset) != 0.0) {
            return fail("program/arc-centre", line.column(letters.other_offset),
                        letters.other_offset + format_number(line.value(letters.other_offset), 8),
                        std::string("centre words ") + letters.first_offset + " and " +
                            letters.second_offset + " in this plane");
        }
        log_.spot(SpotKind::arc_offset_other_plane);
    }
    const bool centre_words = line.has(letters.first_offset) || line.has(letters.second_offset);
    if (line.has('R') && centre_words) {
        return fail("program/arc-centre", line.column('R'), "R together with centre words",
                    "one of them");
    }
    return line.has('R') ? radius_format(line, target_m, shape)
                         : centre_format(line, target_m, shape);
}

bool Interpreter::centre_format(const Line& line, const AxisArray& target_m, ArcShape& shape) {
    const PlaneLetters letters = letters_of(state_.plane);
    const bool has_first = line.has(letters.first_offset);
    const bool has_second = line.has(letters.second_offset);
    if (state_.centre_absolute ? !(has_first && has_second) : !(has_first || has_second)) {
        return fail("program/arc-centre", has(GGroup::motion) ? column(GGroup::motion) : 1,
                    "an arc without its centre",
                    std::string("centre words ") + letters.first_offset + " and " +
                        letters.second_offset + ", or a radius R");
    }
    const PlanePoint start = point(state_.position_m, shape);
    const PlanePoint end = point(target_m, shape);
    const double first_m = has_first ? state_.metres(line.value(letters.first_offset)) : 0.0;
    const double second_m = has_second ? state_.metres(line.value(letters.second_offset)) : 0.0;
    if (!(std::max(std::fabs(first_m), std::fabs(second_m)) <= state_.metres(kMaxAxisWord))) {
        return fail("program/number-too-large", 1, "an arc centre beyond 10 km",
                    "a centre a machine can use");
    }
    const auto offset = [&](std::int8_t slot) {
        return state_.offset_m[static_cast<std::size_t>(slot)];
    };
    shape.centre_first_m = first_m + (state_.centre_absolute ? offset(shape.first) : start.first_m);
    shape.centre_second_m =
        second_m + (state_.centre_absolute ? offset(shape.second) : start.second_m);
    const double r0_m =
        std::hypot(start.first_m - shape.centre_first_m, start.second_m - shape.centre_second_m);
    const double r1_m =
        std::hypot(end.first_m - shape.centre_first_m, end.second_m - shape.centre_second_m);
    const double difference_m = std::fabs(r0_m - r1_m);
    const Mismatch grade =
        grade_mismatch(difference_m, std::min(r0_m, r1_m), settings_.arc_radius_tolerance_m);
    if (grade == Mismatch::wrong || r0_m == 0.0 || r1_m == 0.0) {
        return fail(
            "program/arc-mismatch", has(GGroup::motion) ? column(GGroup::motion) : 1,
            "radius " + mm_text(r0_m) + " at the start and " + mm_text(r1_m) + " at the end",
            "an end point on the circle around the centre",
            "check the centre words and G90.1 or G91.1");
    }
    if (grade == Mismatch::small) {
        log_.spot(SpotKind::arc_radius_mismatch);
    }
    return true;
}

bool Interpreter::radius_format(const Line& line, const AxisArray& target_m, ArcShape& shape) {
    const PlaneLetters letters = letters_of(state_.plane);
    const double radius_m = state_.metres(line.value('R'));
    const PlanePoint start = point(state_.position_m, shape);
    const PlanePoint end = point(target_m, shape);
    const double chord_m = std::hypot(end.first_m - start.first_m, end.second_m - start.second_m);
    if (!line.has(letters.first) && !line.has(letters.second)) {
        return fail("program/arc-radius", line.column('R'),
                    "a radius without an end point in the plane",
                    std::string("an ") + letters.first + " or " + letters.second + " word");
    }
    if (chord_m == 0.0) {
        return fail("program/arc-radius", line.column('R'), "an arc that ends where it starts",
                    "centre words for a full circle", "the radius alone does not say which circle");
    }
    if (!(std::fabs(radius_m) <= state_.metres(kMaxAxisWord))) {
        return fail("program/number-too-large", line.column('R'), "a radius beyond 10 km",
                    "a radius a machine can use");
    }
    const RadiusCentre found = centre_from_radius(start, end, radius_m, shape.clockwise);
    const Mismatch grade =
        grade_mismatch(found.shortfall_m, std::fabs(radius_m), settings_.arc_radius_tolerance_m);
    if (grade == Mismatch::wrong || radius_m == 0.0) {
        return fail("program/arc-radius", line.column('R'),
                    "radius " + mm_text(std::fabs(radius_m)),
                    "at least half the distance to the end point, " + mm_text(0.5 * chord_m));
    }
    if (grade == Mismatch::small) {
        log_.spot(SpotKind::arc_radius_mismatch);
    }
    shape.centre_first_m = found.centre.first_m;
    shape.centre_second_m = found.centre.second_m;
    return true;
}

}  // namespace planner
