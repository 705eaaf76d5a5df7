/// Tool path to motor path.
/// Model:   cartesian: motor m moves axis m. crossed-belt: two motors at the frame move X and Y
///          through one crossed belt; the motor named by X turns with x + y, the one named by Y
///          with x - y; other axes are Cartesian. Without both X and Y it is Cartesian.
/// Formula: q_X = x + y, q_Y = x - y (crossed-belt); q_m = x_m otherwise
/// Symbols: q = motor position [m of belt], x, y = tool position [m]
/// Valid:   rigid geometry; belt stretch is stepper_sim/dynamics' business
/// Source:  geometry of the crossed belt, derived here: the belt through both pulleys moves by the
///          sum and the difference
/// Checked by: Kinematics.CrossedBeltMovesBothMotorsForOneAxis
#pragma once

#include <cstdint>

#include "planner/program/axis_set.hpp"

namespace planner {

enum class Kinematics : std::uint8_t { cartesian, crossed_belt };

/// Motor positions (or speeds, or accelerations: the map is linear) of tool positions, by slot.
AxisArray to_motors(Kinematics kinematics, const AxisSet& axes, const AxisArray& tool);

}  // namespace planner
