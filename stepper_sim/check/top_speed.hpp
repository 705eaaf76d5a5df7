/// How fast an axis goes when the settings alone decide: no faster than its travel lets it.
#pragma once

#include <algorithm>
#include <cmath>

#include "stepper_sim/run/canonical.hpp"

namespace stepper_sim {

inline double top_axis_speed_m_s(const Machine& machine, std::size_t slot) {
    double top = 0.0;
    for (const CanonicalMotion& motion : canonical_motions(machine))
        top = std::max(top, std::abs(motion.speed_m_s[slot]));
    return top;
}

}  // namespace stepper_sim
