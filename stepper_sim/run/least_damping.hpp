/// The low end of a damping that the machine file does not give: what is swung at the edges of what is uncertain has it. Not the
/// nominal one, which is axis_dynamics.hpp's default.
#pragma once

#include "stepper_sim/dynamics/spread.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::run {

/// Of the damping that is taken, the share it may be at least.
inline double least_damping(const machine::Axis& axis) {
    return axis.damping ? 1.0 : dynamics::kDampingLowFactor;
}

}  // namespace stepper_sim::run
