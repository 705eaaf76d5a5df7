#include "planner/profile/motion.hpp"

namespace planner {
namespace {

struct Instant {
    Phase phase;
    double time_s = 0.0;  // since the phase began
};

Instant instant_at(const Profile& profile, double time_s) {
    Instant instant;
    double begin_s = 0.0;
    for (const Phase& phase : phases_of(profile)) {
        instant = {phase, std::clamp(time_s - begin_s, 0.0, phase.duration_s)};
        begin_s += phase.duration_s;
        if (time_s < begin_s) {
            break;
        }
    }
    return instant;
}

}  // namespace

double distance_at(const Profile& profile, double time_s) {
    const auto [phase, t] = instant_at(profile, time_s);
    return phase.start_distance_m + distance_at(phase, t);
}

double speed_at(const Profile& profile, double time_s) {
    const auto [phase, t] = instant_at(profile, time_s);
    return speed_at(phase, t);
}

double time_at_distance(const Profile& profile, double distance_m) {
    double begin_s = 0.0;
    double time_s = 0.0;
    for (const Phase& phase : phases_of(profile)) {
        if (distance_m < phase.start_distance_m) {
            break;
        }
        const double within_s = time_at_distance(phase, distance_m - phase.start_distance_m);
        time_s = begin_s + std::min(within_s, phase.duration_s);
        begin_s += phase.duration_s;
    }
    return time_s;
}

double peak_speed(const Profile& profile) {
    double peak_m_s = 0.0;
    for (const Phase& phase : phases_of(profile)) {
        peak_m_s = std::max({peak_m_s, start_speed(phase), end_speed(phase)});
    }
    return peak_m_s;
}

double peak_acceleration(const Profile& profile) {
    double peak_m_s2 = 0.0;
    for (const Phase& phase : phases_of(profile))
        peak_m_s2 = std::max({peak_m_s2, std::abs(acceleration_at(phase, 0.0)),
                              std::abs(acceleration_at(phase, phase.duration_s))});
    return peak_m_s2;
}

}  // namespace planner
