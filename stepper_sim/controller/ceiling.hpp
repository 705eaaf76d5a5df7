/// Highest step rate that a controller and a driver allow, in closed form. `rates` prints these and
/// checks compare with them; they belong to the model of emitter.hpp, and a property test holds the
/// two together.
/// Model:   every interrupt costs interrupt + event + motors * motor_cycles; stepping may take its
///          share of the processor; a step line is low for at least one tick between pulses.
/// Formula: line: f = share clock b / (I + b (E + k M)), b = most steps per interrupt;
///          scheduled: f = share clock / (k (I + E + M)); fixed-rate: f = base rate, or 0 where
///          base rate (I + E + k M) exceeds share clock; all at most 1 / (pulse + 1 tick) and what
///          the maker promises: step_rate_max, step_rate_total / k
/// Symbols: I, E, M = interrupt, event and motor cycles [-], k = motors stepping [-], f = rate of
///          the busiest of them [Hz]
/// Valid:   scheduled counts every motor at the rate of the busiest and no two steps together: it
///          is on the safe side
/// Source:  cycles per second divided by cycles per event; no reference needed
/// Checked by: Ceiling.ModelIsOnTimeJustBelowAndLateJustAbove
#pragma once

#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::controller {

/// Step rate of the busiest of `motors_stepping` (at least 1) motors that step at the same time.
double controller_ceiling_hz(const machine::ControllerPart& controller, int motors_stepping);

/// One step per tick: what the tick alone would allow.
double tick_ceiling_hz(const machine::ControllerPart& controller);

/// What the driver's step input takes, fed with pulses `pulse_high` long: the stated rate, and the
/// longer of that pulse and the driver's shortest high, then its shortest low. A driver that steps
/// on both edges takes a step for each.
double driver_ceiling_hz(const machine::DriverPart& driver, const planner::Time& pulse_high);

}  // namespace stepper_sim::controller
