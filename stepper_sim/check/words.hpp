/// Small pieces of text that several checks share: the lines of a change, speeds and places in a person's units.
#pragma once

#include <string>

#include "stepper_sim/check/finding.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/run/program_result.hpp"

namespace stepper_sim::check::words {

using stepper_sim::machine::floor_digits;

/// The lines of the machine file, with ", " between them.
std::string lines(const Change& change);

std::string mm_s(double speed_m_s);
std::string mm_s2(double acceleration_m_s2);
std::string mm(double length_m);
std::string percent(double share);
std::string torque(double torque_Nm);
std::string rate(double rate_hz);
std::string interval(double seconds);
std::string speed_of(const machine::Axis& axis, double rate_rad_s);  // a motor's rate as axis speed

/// A finding with the fields every finding about a motor has.
Finding about(std::string_view check, Grade grade, const machine::Axis& axis);
/// Adds the place, and " at line 12, 3.4 s, X 57.1 mm" to the message.
void place(Finding& finding, const machine::Axis& axis, const run::Moment& at);
/// The same without a position.
void place(Finding& finding, const controller::Extreme& at);

}  // namespace stepper_sim::check::words
