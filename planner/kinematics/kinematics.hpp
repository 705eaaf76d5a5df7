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

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "planner/program/axis_set.hpp"

namespace planner {

enum class Kinematics : std::uint8_t { cartesian, crossed_belt };

/// By motor and axis, both by slot: how far the motor goes for a metre of the axis.
using MotorMatrix = std::array<AxisArray, kMaxAxes>;
MotorMatrix motor_matrix(Kinematics kinematics, const AxisSet& axes);

/// Axes that move the same motors, as groups of slots in the order of their first; first in a group is the axis that turns all of its
/// motors forwards. An axis with a motor of its own is a group of one.
std::vector<std::vector<std::size_t>> motor_groups(Kinematics kinematics, const AxisSet& axes);
/// The group that an axis is in.
std::vector<std::size_t> motor_group(Kinematics kinematics, const AxisSet& axes, std::size_t slot);
/// Whether any axes do.
bool shares_motors(Kinematics kinematics, const AxisSet& axes);

/// Motor positions (or speeds, or accelerations: the map is linear) of tool positions, by slot.
AxisArray to_motors(Kinematics kinematics, const AxisSet& axes, const AxisArray& tool);

}  // namespace planner
