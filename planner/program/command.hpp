/// One command of a program, modal state already applied: positions are machine positions in
/// metres, speeds in m/s. This is what path/ turns into moves. It keeps no text.
#pragma once

#include <cstdint>

#include "planner/program/axis_set.hpp"

namespace planner {

enum class CommandKind : std::uint8_t {
    line,              // straight to target_m
    arc,               // circle or helix to target_m
    dwell,             // rest for seconds
    wait,              // come to rest (program stop, tool change, spindle and coolant words)
    set_acceleration,  // path acceleration cap changes to acceleration_m_s2
};

/// Arc data; the plane is spanned by two axis slots, positive sense is from first to second (G3).
struct ArcShape {
    std::int8_t first = 0,
                second = 1;  // slots of the plane's axes: XY for G17, ZX for G18, YZ for G19
    bool clockwise = false;  // G2
    int full_turns = 0;  // further whole turns (P word) beyond the first passage of the end point
    double centre_first_m = 0.0, centre_second_m = 0.0;
};

struct Command {
    CommandKind kind = CommandKind::line;
    bool rapid = false;              // traverse at full speed (G0)
    bool exact_stop = false;         // come to rest at its end (G61.1, G53 home moves)
    bool e_word = false;             // an E word stands on its line
    std::uint64_t line = 0;          // program line, from 1
    double feed_m_s = 0.0;           // along the path; infinity when rapid or never set
    double inverse_time_s = 0.0;     // > 0: G93, this command lasts so long whatever its length
    double seconds = 0.0;            // dwell
    double acceleration_m_s2 = 0.0;  // set_acceleration
    ArcShape arc;
    AxisArray target_m{};
};

}  // namespace planner
