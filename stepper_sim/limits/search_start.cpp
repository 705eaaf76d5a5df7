#include "stepper_sim/limits/search_start.hpp"

#include <algorithm>
#include <limits>

#include "stepper_sim/run/ceilings.hpp"

namespace stepper_sim::limits {

namespace {

// Guess: the swing that such a step starts leaves nine tenths of the torque to the accelerations.
constexpr double kStepShare = 0.1;
constexpr double kBelowCeiling = 0.99;  // rounding to ticks must not cross it
// Guess: any that a working axis holds; the search for the base puts its own in its place.
constexpr double kStartRamp_s = 1.0;
constexpr double kSlowTurn_per_s = 1.0;  // of a motor that makes no steps: any speed shows it

double axis_speed_m_s(const machine::Machine& machine, const run::MotorModels& models,
                      std::size_t slot) {
    const machine::Axis& axis = machine.axes[slot];
    const double ceiling_m_s = kBelowCeiling * run::ceiling_speed_m_s(machine, axis);
    const double corner_m_s =
        models.available[slot].base_speed().value() * models.loads.motors[slot].radius_m;
    if (!(ceiling_m_s > 0.0)) return kSlowTurn_per_s * axis.drive.travel_per_turn().value();
    return corner_m_s > 0.0 ? std::min(ceiling_m_s, corner_m_s) : ceiling_m_s;
}

/// The jump that the rotor follows at the low torque figure while the axis moves steadily.
double followed_m_s(const run::MotorModels& models, std::size_t slot, double speed_m_s) {
    const motor::AvailableTorque& available = models.available[slot];
    planner::AxisArray slowly{};
    slowly[slot] = speed_m_s;
    const double asked_by_motion_Nm =
        motor::asked_Nm(models.loads, static_cast<int>(slot), slowly, planner::AxisArray{});
    const run::StepUse use = run::step_use(models, slot, 1.0, available.low_Nm(0.0),
                                           available.high_Nm(0.0), asked_by_motion_Nm);
    return use.limit_low_rad_s * models.loads.motors[slot].radius_m;
}

}  // namespace

GroupSettings start_settings(const machine::Machine& machine, const run::MotorModels& models,
                             const AxisGroup& group) {
    double speed_m_s = std::numeric_limits<double>::infinity(), step_m_s = speed_m_s;
    const auto sharing = static_cast<double>(group.slots.size());  // a motor, on a diagonal
    for (const int slot : group.slots) {
        const auto s = static_cast<std::size_t>(slot);
        const double alone_m_s = axis_speed_m_s(machine, models, s);
        speed_m_s = std::min(speed_m_s, alone_m_s / sharing);
        step_m_s = std::min(step_m_s, kStepShare * followed_m_s(models, s, alone_m_s) / sharing);
    }
    return {speed_m_s, speed_m_s / kStartRamp_s, std::min(step_m_s, speed_m_s)};
}

machine::Machine start_machine(machine::Machine machine, const run::MotorModels& models,
                               std::span<const AxisGroup> groups) {
    for (const AxisGroup& group : groups)
        group.apply(start_settings(machine, models, group), machine);
    return machine;
}

}  // namespace stepper_sim::limits
