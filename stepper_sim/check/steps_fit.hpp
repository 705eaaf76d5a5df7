/// Whether steps per mm, microsteps and mechanics of an axis say the same: what check_steps_per_mm judges.
/// Model:   what is flashed against what motor, microsteps and drive give
/// Formula: ratio = steps per mm set / steps per mm of the mechanics; it fits where |ratio - 1| <= 2e-4
/// Symbols: as in machine.hpp
/// Valid:   values typed with four digits; 2 % off is a calibration, which the check tells apart
/// Source:  rounding to four digits
/// Checked by: StepsPerMm.WhatRoundingExplainsIsNotToldAndAThousandthIs
#pragma once

#include <cmath>

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::check {

// Rounding of a typed value: four digits.
inline constexpr double kTypedShare = 2e-4;

inline double steps_ratio(const machine::Axis& axis) {
    return axis.steps_per_m() / axis.mechanical_steps_per_m();
}

inline bool steps_fit(const machine::Axis& axis) {
    return std::abs(steps_ratio(axis) - 1.0) <= kTypedShare;
}

}  // namespace stepper_sim::check
