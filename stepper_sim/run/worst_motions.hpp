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

namespace stepper_sim::run {

/// What the settings let an axis do by itself.
struct Reach {
    double speed_m_s, acceleration_m_s2;
    double corner_m_s;  // kept through a reversal
    double travel_m;    // infinite where the machine file does not say

    /// From rest to rest inside the travel the speed peaks half way: v^2 = a L.
    double peak_m_s() const;
};

Reach reach_of(const machine::Machine& machine, const machine::Axis& axis);

/// Fastest moment of a motion: still speeding up at its top speed.
struct WorstMotion {
    int axis = 0;                    // the slot whose settings it exercises
    bool diagonal = false;           // both belt axes together
    planner::AxisArray speed_m_s{};  // axis speeds; top speed, or what the travel lets it reach
    planner::AxisArray acceleration_m_s2{};
};

/// Both directions of every axis (gravity tells them apart) and, on crossed belts, the four diagonals of X and Y.
std::vector<WorstMotion> worst_motions(const machine::Machine& machine);

}  // namespace stepper_sim::run
