/// The motions that settings alone allow, whatever the program. Checks judge settings on these, so that a verdict holds for parts not
/// yet drawn.
/// Model:   each axis at its limits alone, and on a crossed belt both belt axes together along the diagonals
/// Formula: speed = min(top speed, sqrt(a L))
/// Symbols: a = acceleration, no more than the cap along the path [m/s^2], L = travel [m]
/// Valid:   moves from rest to rest, which reach their speed half way
/// Source:  v^2 = 2 a L/2: Newton
/// Checked by: Torque.OfSettingsIsThatOfFullAccelerationAtTopSpeedAgainstTheBandThere
#pragma once

#include <vector>

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim {

/// Fastest moment of a motion: still speeding up at its top speed.
struct CanonicalMotion {
    int axis = 0;                    // the slot whose settings it exercises
    bool diagonal = false;           // both belt axes together
    planner::AxisArray speed_m_s{};  // axis speeds; top speed, or what the travel lets it reach
    planner::AxisArray acceleration_m_s2{};
};

/// Both directions of every axis (gravity tells them apart) and, on crossed belts, the four diagonals of X and Y.
std::vector<CanonicalMotion> canonical_motions(const Machine& machine);

}  // namespace stepper_sim
