/// A motor with its driver on an axis: what it has and what the axis asks of it, at any speed and acceleration. No program, no resonance.
/// On a crossed belt the axis alone and along the diagonal with the other, whichever asks more.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/motor/asked_torque.hpp"
#include "stepper_sim/motor/available_torque.hpp"

namespace stepper_sim::limits {

struct TorqueBench {
    machine::Machine machine;
    std::size_t slot = 0;
    motor::MotorLoads loads;
    motor::AvailableTorque available;

    double radius_m() const { return loads.motors[slot].radius_m; }
    /// Both ways, whichever asks more.
    double asked_Nm(double speed_m_s, double acceleration_m_s2) const;
};

/// The machine with this axis in the slot.
TorqueBench torque_bench(machine::Machine machine, std::size_t slot, const machine::Axis& axis);

/// One sentence for each rating of motor or driver that the axis breaks, to half a percent.
std::vector<std::string> ratings_broken(const machine::Axis& axis);

}  // namespace stepper_sim::limits
