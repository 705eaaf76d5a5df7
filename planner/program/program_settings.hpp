/// What a controller's G-code means beyond the open standard. Everything here comes from the user's
/// machine file.
#pragma once

#include <cstdint>
#include <limits>
#include <map>
#include <string>

#include "planner/program/axis_set.hpp"

namespace planner {

/// What a word outside the standard does, in a machine file's [program.words].
enum class WordEffect : std::uint8_t {
    ignore,            // no effect on motion; its arguments are skipped and it is not reported
    text,              // the rest of the line is free text
    wait,              // motion comes to rest before it
    set_acceleration,  // its value: path acceleration cap in mm/s^2 (in program units per s^2)
    relative_e,        // E words are distances from here on
    absolute_e,        // E words are positions from here on
    call,              // runs the program whose number its value is, from "O<number>" on
    give_back,         // ends what `call` began; both share all parameters with their caller
};

struct WordRule {
    WordEffect effect = WordEffect::ignore;
    // NOLINTBEGIN(readability-redundant-member-init): g++ warns of {effect}
    // Of set_acceleration and call: the letter, or on a named line the key, of its value.
    std::string value_key = {};
    std::string repeat_key = {};  // of call: how often; empty: once
    // NOLINTEND(readability-redundant-member-init)
};

/// How E words are read where no word of the machine file has said so.
enum class EReading : std::uint8_t {
    as_axes,   // as G90 and G91 say, until relative_e or absolute_e speaks
    latest,    // as the latest of all four says
    absolute,  // G90 and G91 do not reach E, which begins with positions
    relative   // likewise, with distances
};

struct ProgramSettings {
    AxisSet axes = AxisSet();
    std::string ignored_axes;  // letters whose words are skipped: the machine has no such axis and
                               // the user knows
    std::map<std::string, WordRule> words;  // key: upper-case letter and number without leading
                                            // zeros, such as "M7301" or "G7029.1", or the name
                                            // that a line begins with
    EReading e_reading = EReading::as_axes;
    bool resume_after_g80 = false;  // axis words after G80 move as the G0 or G1 before the cycle
    bool default_inches = false;    // unit before the first G20 or G21
    std::map<int, double>
        parameters;            // values of # parameters before the program begins; all others are 0
    bool block_delete = true;  // lines that begin with '/' are skipped, as with the panel switch on
    bool home_all_axes = false;  // G28 X brings every axis home (RS274/NGC); false: only the axes
                                 // it names, as most controls do
    bool rapid_is_feed =
        false;  // G0 moves at the feed rate (drawing machines) instead of traversing at full speed
    bool compensation_as_written = false;  // the path under G41 and G42 is the tool centre's
    std::map<int, double> tool_lengths_m;  // what G43 H adds to Z, by number
    double dwell_unit_s = 1.0;             // what one unit of G4 P means; RS274/NGC: seconds
    double feed_override =
        1.0;  // > 0: what every feed is multiplied with, as by a panel's knob; not
              // traverses
    double arc_radius_tolerance_m = 5e-6;  // start and end radius of an arc may differ by this
                                           // without a note (measured on real files: up to 5 um)
    AxisArray start_m{};                   // machine position when the program begins
    AxisArray home_m{};                    // where G28 ends
    AxisArray work_offset_m{};  // machine position of program zero in every G54..G59.3 system until
                                // G10 or G92 changes it
};

}  // namespace planner
