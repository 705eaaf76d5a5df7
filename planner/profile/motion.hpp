/// Where, how fast and when, within the phases of one move.
/// Times and distances count from the start of the move, or of the phase where a Phase is taken.
/// Model:   constant acceleration within a phase
/// Formula: s = v t + a t^2 / 2; its inverse t = 2 s / (v + sqrt(v^2 + 2 a s)), which loses no
///          digits for any sign or size of a
/// Symbols: s = distance [m], t = time [s], v = speed at the start of the phase [m/s],
///          a = acceleration [m/s^2]
/// Valid:   a time or distance outside the move is taken as its nearest end
/// Source:  uniform acceleration; the stable form of the quadratic formula
/// Checked by: Motion.TimeAtDistanceInvertsDistanceAtTime
#pragma once

#include <algorithm>
#include <cmath>
#include <span>

#include "planner/profile/phase.hpp"

namespace planner {

/// Time to cover `distance_m` from the start of a phase; 0 for no distance. Where rounding puts the
/// distance beyond the point at which the phase comes to rest, the time of that rest.
inline double time_at_distance(const Phase& phase, double distance_m) {
    if (!(distance_m > 0.0)) {
        return 0.0;
    }
    const double v = phase.start_speed_m_s;
    const double square = v * v + 2.0 * phase.acceleration_m_s2 * distance_m;
    return 2.0 * distance_m / (v + std::sqrt(std::max(0.0, square)));
}

/// Distance from the start of the phase after `time_s` of it.
inline double distance_at(const Phase& phase, double time_s) {
    return time_s * (phase.start_speed_m_s + 0.5 * phase.acceleration_m_s2 * time_s);
}

/// Speed after `time_s` of the phase; never negative.
inline double speed_at(const Phase& phase, double time_s) {
    return std::max(0.0, phase.start_speed_m_s + phase.acceleration_m_s2 * time_s);
}

/// Acceleration after `time_s` of the phase.
inline double acceleration_at(const Phase& phase, double /*time_s*/) {
    return phase.acceleration_m_s2;
}

inline double start_speed(const Phase& phase) {
    return speed_at(phase, 0.0);
}

inline double end_speed(const Phase& phase) {
    return speed_at(phase, phase.duration_s);
}

inline double phase_length(const Phase& phase) {
    return distance_at(phase, phase.duration_s);
}

inline std::span<const Phase> phases_of(const Profile& profile) {
    return {profile.phases.data(), static_cast<std::size_t>(profile.count)};
}

// All of these give 0 for a profile of no phases.

/// Distance from the start of the move after `time_s`.
double distance_at(const Profile& profile, double time_s);

/// Speed after `time_s`; never negative.
double speed_at(const Profile& profile, double time_s);

/// Time from the start of the move at which it has covered `distance_m`.
double time_at_distance(const Profile& profile, double distance_m);

/// Highest speed of the move.
double peak_speed(const Profile& profile);

/// Largest acceleration of the move, either way.
double peak_acceleration(const Profile& profile);

}  // namespace planner
