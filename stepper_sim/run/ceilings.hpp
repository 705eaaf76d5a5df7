/// The step-rate ceilings of each motor and the axis speed each one allows: what `rates` prints and the step-rate check judges.
/// Model:   the lowest of the driver's, the controller's and the tick's ceiling binds (controller/ceiling.hpp)
/// Formula: rate = |v| steps_per_m; ceiling speed = lowest ceiling / steps_per_m
/// Symbols: v = travel of belt or nut [m/s]; rates [Hz]
/// Valid:   all motors of the machine stepping at once
/// Source:  none needed: a quotient
/// Checked by: Ceilings.TheLowestOfTheThreeBindsAndIsNamed, CommonPractice.StepRateIsStepsPerMillimetreTimesSpeed
#pragma once

#include <string>
#include <vector>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/binding.hpp"

namespace stepper_sim::run {

struct Ceilings {
    double driver_hz = 0.0;      // stated maximum, pulse widths
    double controller_hz = 0.0;  // processor time at the allowed share, all motors stepping
    double tick_hz = 0.0;        // one pulse and one pause need at least a tick each

    double lowest_hz() const;
    /// The one that binds: driver, controller or tick.
    Binding binding() const;
};

Ceilings ceilings_of(const machine::Machine& machine, const machine::Axis& axis);

/// Step rate of the axis's motor when the axis alone moves at `speed_m_s` (on a crossed belt: when both belt axes move at theirs).
double step_rate_hz(const machine::Axis& axis, double motor_speed_m_s);

/// Highest motor-path speed all ceilings allow; `rates`, `check` and every view take it from here.
double ceiling_speed_m_s(const machine::Machine& machine, const machine::Axis& axis);

}  // namespace stepper_sim::run
