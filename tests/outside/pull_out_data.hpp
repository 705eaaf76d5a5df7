/// The published pull-out points of data/pull_out_curves.csv with the plates of
/// data/curve_motors.csv. Quality A: a maker's figure digitised for this project; B: labelled
/// points transcribed by others. Nothing from memory. What a plate does not give (resistance and
/// inductance of one motor, some rotor inertias) is estimated as the library does it.
#pragma once

#include <string>
#include <vector>

#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::outside {

struct CurvePoint {
    std::string curve;  // one supply and current
    std::string body;   // one motor, whatever its winding's name
    bool first_hand = false;
    double rpm = 0.0;
    double corners = 0.0;     // speed over base speed
    double emf_share = 0.0;   // back EMF over supply
    double ideal_Nm = 0.0;    // both limits, sharp corner
    double rounded_Nm = 0.0;  // with the rounded knee the running factor goes with
    double torque_Nm = 0.0;   // as published
};

/// All points in the order of the file.
std::vector<CurvePoint> pull_out_points();

/// The motors with every published curve attached, as the catalogue would hold them.
std::vector<machine::MotorPart> curve_motors();

}  // namespace stepper_sim::outside
