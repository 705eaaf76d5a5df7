#include "planner/profile/trapezoid.hpp"

#include <algorithm>
#include <cmath>

namespace planner {
namespace {

// A speed change that needs this much of the length is taken to need all of it: phases of rounding
// size cost time downstream.
constexpr double kWholeLength = 1.0 - 1e-9;

void append(Profile& profile, double duration_s, double start_distance_m, double start_speed_m_s,
            double acceleration_m_s2) {
    if (!(duration_s > 0.0)) {
        return;
    }
    profile.phases[static_cast<std::size_t>(profile.count)] = {duration_s, start_distance_m,
                                                               start_speed_m_s, acceleration_m_s2};
    ++profile.count;
    profile.duration_s += duration_s;
}

}  // namespace

Profile trapezoid(double length_m, double entry_speed_m_s, double nominal_speed_m_s,
                  double exit_speed_m_s, double acceleration_m_s2) {
    const double v0 = entry_speed_m_s;
    const double v1 = exit_speed_m_s;
    const double a = acceleration_m_s2;
    const double v = std::max({nominal_speed_m_s, v0, v1});
    Profile profile;

    const double e = (v1 - v0) * (v1 + v0) / (2.0 * a);
    if (std::abs(e) >= kWholeLength * length_m) {
        append(profile, 2.0 * length_m / (v0 + v1), 0.0, v0, e / length_m * a);
        return profile;
    }

    double up_m = (length_m + e) / 2.0;
    double down_m = (length_m - e) / 2.0;
    double cruise_m = 0.0;
    double peak = std::sqrt(v0 * v0 + 2.0 * a * up_m);
    if (peak > v) {
        peak = v;
        up_m = (v - v0) * (v + v0) / (2.0 * a);
        down_m = (v - v1) * (v + v1) / (2.0 * a);
        cruise_m = std::max(0.0, length_m - up_m - down_m);
    }
    append(profile, 2.0 * up_m / (v0 + peak), 0.0, v0, a);
    append(profile, cruise_m / peak, up_m, peak, 0.0);
    append(profile, 2.0 * down_m / (peak + v1), length_m - down_m, peak, -a);
    return profile;
}

double length_in(double duration_s, double end_speed_m_s, double nominal_speed_m_s,
                 double acceleration_m_s2) {
    const double end_m_s = std::min(end_speed_m_s, nominal_speed_m_s);
    const double top_m_s = end_m_s + 0.5 * acceleration_m_s2 * duration_s;
    if (top_m_s <= nominal_speed_m_s) return 0.5 * (end_m_s + top_m_s) * duration_s;
    const double change_m_s = nominal_speed_m_s - end_m_s;
    return nominal_speed_m_s * duration_s - change_m_s * change_m_s / acceleration_m_s2;
}

}  // namespace planner
