/// Walks along a move and hands out what it asks of its motors: for pictures of torque over speed. Every corner of the planned motion
/// is met; along a ramp there are samples between, so that it is a line and not two dots.
#pragma once

#include <cmath>
#include <cstddef>

#include "planner/kinematics/motor_move.hpp"
#include "planner/profile/motion.hpp"

namespace stepper_sim {

/// Calls `sample(axis speeds, axis accelerations, path speed, seconds it stands for)`, all by axis slot;
/// `ramp_samples` pieces along each ramp.
template <class Sample>
void for_each_sample(const planner::MotorMove& move, std::size_t axes, int ramp_samples,
                     Sample&& sample) {
    planner::AxisArray unit{}, speed{}, acceleration{};
    for (std::size_t i = 0; i < axes; ++i)
        unit[i] = (move.tool_end_m[i] - move.tool_start_m[i]) / move.length_m;
    for (int p = 0; p < move.profile.count; ++p) {
        const planner::Phase& phase = move.profile.phases[static_cast<std::size_t>(p)];
        const double end_m_s = planner::end_speed(phase);
        const int samples = end_m_s == phase.start_speed_m_s ? 0 : ramp_samples;
        for (int k = 0; k <= samples; ++k) {
            const double share = samples == 0 ? 0.0 : static_cast<double>(k) / samples;
            const double path_m_s = std::lerp(phase.start_speed_m_s, end_m_s, share);
            for (std::size_t i = 0; i < axes; ++i) {
                speed[i] = unit[i] * path_m_s;
                acceleration[i] = unit[i] * phase.acceleration_m_s2;
            }
            sample(speed, acceleration, path_m_s, phase.duration_s / (samples + 1));
        }
    }
}

}  // namespace stepper_sim
