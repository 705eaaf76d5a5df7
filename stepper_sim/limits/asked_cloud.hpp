/// What a program asks of one motor, as a cloud of points of torque over speed: what `torque --plot` sets against the curves.
/// Every corner of the planned motion is covered, but points that would fall on the same spot of a plot are kept once, so that a
/// program of any length fits in memory. Whether the torque is there is compare_motors.hpp's business.
#pragma once

#include <filesystem>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/plan_file.hpp"

namespace stepper_sim::limits {

/// What a program asked of the motor at one moment.
struct AskedPoint {
    double speed_m_s = 0.0;  // travel of the motor's belt or nut
    double torque_Nm = 0.0;
};

/// Plans the program on the machine and gathers what the motor of `machine.axes[axis_slot]` is asked, in order of speed; of points
/// that lie close the one with the most torque is kept. Errors: those of plan_file.hpp, program/nothing-moves.
planner::Result<std::vector<AskedPoint>> asked_cloud(const machine::Machine& machine, int axis_slot,
                                                     const std::filesystem::path& file,
                                                     const run::ProgressCall& progress = {});

}  // namespace stepper_sim::limits
