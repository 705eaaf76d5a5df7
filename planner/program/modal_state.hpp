/// What a program has set so far: the state that one line hands to the next. Plain data;
/// interpreter.hpp changes it, and plain_line.cpp for plain straight lines.
#pragma once

#include <array>
#include <cstdint>
#include <limits>

#include "planner/program/axis_set.hpp"
#include "planner/program/program_settings.hpp"

namespace planner {

enum class Motion : std::uint8_t {
    none,
    traverse,
    feed,
    arc_clockwise,
    arc_counterclockwise,
    probe,
    cycle
};
enum class Plane : std::uint8_t { xy, zx, yz };
enum class EMode : std::uint8_t { follows_distance_mode, relative, absolute };

inline constexpr std::size_t kCoordinateSystems = 9;  // G54 to G59.3

/// The sticky words of a drilling cycle, in metres; see interpreter_cycle.cpp.
struct CycleState {
    int tenths = 0;  // 810 for G81
    bool has_bottom = false, has_clearance = false, has_peck = false, has_counterbore = false;
    double bottom_m =
        0.0;  // absolute: machine position; incremental: distance from the clearance plane
    double clearance_m =
        0.0;  // absolute: machine position; incremental: distance from where the tool is
    double peck_m = 0.0;
    double side_first_m = 0.0, side_second_m = 0.0, counterbore_m = 0.0;  // G87: I, J and K
    double dwell_s = 0.0;
};

struct ModalState {
    Motion motion = Motion::none;
    Motion straight = Motion::none;  // the last of G0 and G1, which G80 may bring back
    Plane plane = Plane::xy;
    bool inches = false;
    bool relative = false;             // G91
    bool centre_absolute = false;      // G90.1
    bool inverse_time = false;         // G93
    bool exact_stop = false;           // G61.1
    bool return_to_clearance = false;  // G99
    EMode e_mode = EMode::follows_distance_mode;
    double feed_m_s = std::numeric_limits<double>::infinity();
    bool feed_given = false;

    AxisArray position_m{};  // machine position
    AxisArray offset_m{};  // machine position of program zero: system_m[system] + shift_m + tool_m
    AxisArray shift_m{};   // G92 or G52
    AxisArray tool_m{};    // G43, G43.1
    bool local_shift = false;  // the shift is that of G52
    AxisArray kept_shift_m{};  // what G92.3 brings back
    std::array<AxisArray, kCoordinateSystems> system_m{};
    std::size_t system = 0;
    CycleState cycle;

    /// Program units to metres: one rounding, so that a position never depends on how the program
    /// got there.
    double metres(double value) const { return inches ? value * 0.0254 : value / 1000.0; }
    bool axis_relative(char letter) const {
        return letter == 'E' && e_mode != EMode::follows_distance_mode ? e_mode == EMode::relative
                                                                       : relative;
    }
};

}  // namespace planner
