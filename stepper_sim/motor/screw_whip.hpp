/// How fast a screw may turn before it whips: its first critical speed in bending. Buckling under load is not looked at.
///
/// Model:   a round rod of the root's diameter, bending on its bearings, without the nut, which only holds it
/// Formula: w = b^2 (d/4) sqrt(E/rho)/L^2
/// Symbols: w = critical rate of the screw [rad/s]; b = 1.875, pi, 3.927, 4.730 for ends fixed-free, supported, fixed-supported,
///          fixed-fixed; d = root diameter [m]; L = length between the bearings, or from bearing to free end [m]; E = 206 GPa,
///          rho = 7850 kg/m3 (steel)
/// Valid:   L well above d; makers allow 0.8 of it
/// Source:  W. T. Thomson, Theory of Vibration with Applications, beams (from memory). Ball screw makers print the same with their
///          0.8 in it as n = c d/L^2 10^7 rpm, d and L in mm, c = 3.4, 9.7, 15.1, 21.9 (from memory)
/// Checked by: ScrewWhip.*
#pragma once

#include <array>
#include <cmath>
#include <cstddef>

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::motor {

/// Of the critical speed, what makers of ball screws allow.
inline constexpr double kAllowedOfCritical = 0.8;

inline double critical_rate_rad_s(planner::Length root, planner::Length length,
                                  machine::ScrewEnds ends) {
    constexpr std::array kBending{1.8751, 3.1416, 3.9266, 4.7300};  // in the order of ScrewEnds
    constexpr double kSteel_N_m2 = 206e9, kSteel_kg_m3 = 7850.0;
    const double b = kBending[static_cast<std::size_t>(ends)];
    return b * b * 0.25 * root.value() * std::sqrt(kSteel_N_m2 / kSteel_kg_m3) /
           (length.value() * length.value());
}

}  // namespace stepper_sim::motor
