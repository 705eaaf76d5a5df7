/// Pieces of constant acceleration along a move, and the move's clock. Read next: motion.hpp.
/// Model:   one axis, the path; acceleration constant within a phase, speeds equal where two phases meet
/// Formula: s = start_m + v t + a t^2 / 2, t from the start of the phase; program time = whole_s + fraction_s
/// Symbols: s = distance along the move [m], v = start speed [m/s], a = acceleration [m/s^2], t [s]
/// Valid:   0 <= t <= duration; a program's time keeps 1e-16 s of its fraction, whatever the length
/// Source:  Newton
/// Checked by: Motion.DistanceAndSpeedFollowThePhases, ProgramTime.KeepsItsDigitsAfterDays
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>

namespace planner {

/// Within a phase t after its start: s = start_m + v t + a t^2 / 2.
struct Phase {
    double duration_s = 0.0;
    double start_distance_m = 0.0;  // along the move
    double start_speed_m_s = 0.0;
    double acceleration_m_s2 = 0.0;
};

inline constexpr int kMaxPhases = 3;  // speed up, cruise, slow down

struct Profile {
    std::array<Phase, kMaxPhases> phases{};
    int count = 0;
    double duration_s = 0.0;
};

/// Time since the program began, kept as whole seconds and a fraction: a double alone loses 1e-11 s
/// after half a day.
struct ProgramTime {
    std::int64_t whole_s = 0;
    double fraction_s = 0.0;  // in [0, 1)

    /// Longest single advance, about 3000 years: a feed or a dwell beyond it, which a program may
    /// well hold by mistake, must not overflow the whole seconds.
    static constexpr double kLongest_s = 1e11;

    /// `seconds` >= 0.
    void advance(double seconds) {
        fraction_s += std::min(seconds, kLongest_s);
        const auto carry = static_cast<std::int64_t>(fraction_s);
        whole_s += carry;
        fraction_s -= static_cast<double>(carry);
    }
    double seconds() const { return static_cast<double>(whole_s) + fraction_s; }
};

}  // namespace planner
