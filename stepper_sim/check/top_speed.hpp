/// How fast an axis goes when the settings alone decide: no faster than its travel lets it.
#pragma once

#include <algorithm>
#include <cmath>

#include "stepper_sim/run/worst_motions.hpp"

namespace stepper_sim::check {

inline double top_axis_speed_m_s(const machine::Machine& machine, std::size_t slot) {
    double top = 0.0;
    for (const run::WorstMotion& motion : run::worst_motions(machine))
        top = std::max(top, std::abs(motion.speed_m_s[slot]));
    return top;
}

}  // namespace stepper_sim::check
