/// Walks along a move and hands out what it asks of its motors: for pictures of torque over speed. Every corner of the planned motion
/// is met; along a ramp there are samples between, so that it is a line and not two dots.
#pragma once

#include <cmath>
#include <cstddef>

#include "planner/kinematics/motor_move.hpp"
#include "planner/profile/motion.hpp"

namespace stepper_sim::run {

/// Calls `sample(axis speeds, axis accelerations, path speed, seconds it stands for)`, all by axis slot;
/// `ramp_samples` pieces along each ramp.
template <class Sample>
void for_each_sample(const planner::MotorMove& move, std::size_t axes, int ramp_samples,
                     Sample&& sample) {
    planner::AxisArray unit{}, speed{}, acceleration{};
    for (std::size_t i = 0; i < axes; ++i)
        unit[i] = (move.tool_end_m[i] - move.tool_start_m[i]) / move.length_m;
    for (const planner::Phase& phase : planner::phases_of(move.profile)) {
        const int samples =
            planner::end_speed(phase) == planner::start_speed(phase) ? 0 : ramp_samples;
        for (int k = 0; k <= samples; ++k) {
            const double share = samples == 0 ? 0.0 : static_cast<double>(k) / samples;
            const double at_s = share * phase.duration_s;
            const double path_m_s = planner::speed_at(phase, at_s);
            for (std::size_t i = 0; i < axes; ++i) {
                speed[i] = unit[i] * path_m_s;
                acceleration[i] = unit[i] * planner::acceleration_at(phase, at_s);
            }
            sample(speed, acceleration, path_m_s, phase.duration_s / (samples + 1));
        }
    }
}

}  // namespace stepper_sim::run
