/// A straight move between two machine positions: the unit of planning. Arcs and helices have
/// become chords here.
#pragma once

#include <cstdint>
#include <limits>

#include "planner/program/axis_set.hpp"

namespace planner {

struct Move {
    std::uint64_t line = 0;  // program line, from 1
    double length_m = 0.0;  // > 0; the length the feed applies to: X Y Z if any of them moves, else
                            // U V W, else A B C, else E (RS274/NGC 2.1.2.5)
    double feed_m_s = 0.0;  // speed asked along length_m; infinity for a traverse
    double acceleration_cap_m_s2 = std::numeric_limits<double>::infinity();  // set by a mapped word
    double rest_before_s =
        -1.0;  // < 0: flows from the move before; >= 0: starts from rest after resting this long
    bool rapid = false;
    bool arc_chord = false;  // an inner chord of an arc: its start junction is part of the curve,
                             // not a corner of the program
    AxisArray start_m{};
    AxisArray end_m{};
};

}  // namespace planner
