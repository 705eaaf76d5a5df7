#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::machine {

planner::PlanLimits plan_limits(const Machine& machine) {
    planner::PlanLimits limits;
    limits.axis_count = static_cast<int>(machine.axes.size());
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot) {
        const AxisSettings& settings = machine.axes[slot].settings;
        limits.max_speed_m_s[slot] = settings.max_speed.value();
        limits.max_acceleration_m_s2[slot] = settings.max_acceleration.value();
        limits.speed_step_m_s[slot] = settings.speed_step.value();
    }
    if (machine.planning.path_acceleration) {
        limits.path_acceleration_m_s2 = machine.planning.path_acceleration->value();
    }
    limits.corner = machine.planning.corner;
    limits.deviation_m = machine.planning.deviation.value();
    limits.window_moves = machine.planning.window_moves;
    return limits;
}

}  // namespace stepper_sim::machine
