/// The low end of a damping that the machine file does not give: what is swung at the edges of what is uncertain has it. Not the
/// nominal one, which is axis_dynamics.hpp's default.
#pragma once

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim {

/// Of the damping that is taken, what it may be at least: 0.01 of 0.02, the spread of axis_dynamics.hpp.
inline double least_damping(const Axis& axis) {
    constexpr double kLowEnd = 0.5;
    return axis.damping ? 1.0 : kLowEnd;
}

}  // namespace stepper_sim
