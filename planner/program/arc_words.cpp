#include "planner/program/arc_words.hpp"

#include <algorithm>
#include <cmath>

namespace planner {

Mismatch grade_mismatch(double difference_m, double radius_m, double tolerance_m) {
    constexpr double kSmallMultiple = 10.0;
    constexpr double kSmallShare = 0.005;
    if (difference_m <= tolerance_m) {
        return Mismatch::none;
    }
    return difference_m <= std::max(kSmallMultiple * tolerance_m, kSmallShare * radius_m)
               ? Mismatch::small
               : Mismatch::wrong;
}

RadiusCentre centre_from_radius(PlanePoint start, PlanePoint end, double radius_m, bool clockwise) {
    const double du_m = end.first_m - start.first_m;
    const double dv_m = end.second_m - start.second_m;
    const double chord_m = std::hypot(du_m, dv_m);
    const double half_m = 0.5 * chord_m;
    const double size_m = std::fabs(radius_m);
    const bool left = clockwise == (radius_m < 0.0);
    const double height_m =
        size_m > half_m ? std::sqrt((size_m - half_m) * (size_m + half_m)) : 0.0;
    const double along = (left ? height_m : -height_m) / chord_m;
    return {{0.5 * (start.first_m + end.first_m) - dv_m * along,
             0.5 * (start.second_m + end.second_m) + du_m * along},
            std::max(0.0, half_m - size_m)};
}

}  // namespace planner
