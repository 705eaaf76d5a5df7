/// The changes that checks may propose, each worked out from what a motor asks now. Whether one cures is seen by checking again:
/// verified_change.hpp. None asks for the opposite of another: speeds, accelerations, steps and microsteps are only ever lowered,
/// pulse widths and currents within their ratings only raised; figures that contradict each other (steps-per-mm) are set right first.
#pragma once

#include <optional>

#include "stepper_sim/check/check.hpp"

namespace stepper_sim::check::candidates {

/// The setting and its present value; the new one is rounded as it is written.
SettingChange set(const machine::Machine& machine, char axis, machine::SettingKey key,
                  double value);

/// Adds it, unless nothing in it differs from what is set or it is there already.
void add(std::vector<Change>& changes, Change change);

/// Adds the settings of `more`; of two values of one setting the lower stays.
void join(Change& change, const Change& more);

/// `key` times `share` for every axis that moves this motor: on crossed belts two.
Change scaled(const CheckInput& input, std::size_t motor, machine::SettingKey key, double share,
              bool is_try = false);

/// Top speeds with which this motor runs at `share` of what it reaches now: in the programs, or as settings and travel allow.
enum class Reached : std::uint8_t { by_settings, in_programs };
Change slower(const CheckInput& input, std::size_t motor, double share, Reached reached);

/// The most microsteps that the driver offers with which the motor makes at most `share` of its steps. None where its steps per mm do
/// not fit its microsteps as they are, and none too coarse.
std::optional<Change> fewer_microsteps(const CheckInput& input, std::size_t motor, double share);

/// Finer than this, microsteps add steps but no torque to follow them: one of 16 is a tenth of the holding torque, sin(90 deg / 16).
inline constexpr int kFineMicrosteps = 16;

/// Fewer microsteps and slower, whichever loses less first: both bring the step rate to `share` of what it is.
void add_slower_steps(const CheckInput& input, std::size_t motor, double share, Reached reached,
                      std::vector<Change>& changes);

/// The highest current that motor and driver both allow.
SettingChange highest_current(const machine::Machine& machine, const machine::Axis& axis);

}  // namespace stepper_sim::check::candidates
