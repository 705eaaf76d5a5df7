/// Small pieces of text that several checks share: a setting's path in the machine file, speeds and places in a person's units.
#pragma once

#include <string>

#include "stepper_sim/check/finding.hpp"
#include "stepper_sim/check/program_result.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::words {

/// Rounded down to so many significant digits, so that what holds still holds; 0 for what is not above 0.
double floor_digits(double value, int digits);

/// "axes.y.microsteps"
std::string of_axis(const Axis& axis, std::string_view key);
/// "axes.y.settings.max_speed"
std::string setting(const Axis& axis, std::string_view key);
/// `axes.y.settings.max_speed = "212 mm/s"`: rounded DOWN to three digits, so that the value really holds.
std::string change_speed(const Axis& axis, std::string_view key, double speed_m_s);
std::string change_acceleration(const Axis& axis, double acceleration_m_s2);

std::string mm_s(double speed_m_s);
std::string mm_s2(double acceleration_m_s2);
std::string mm(double length_m);
std::string percent(double share);
std::string torque(double torque_Nm);
std::string rate(double rate_hz);
std::string interval(double seconds);
std::string speed_of(const Axis& axis, double rate_rad_s);  // a motor's rate as axis speed

/// A finding with the fields every finding about a motor has.
Finding about(std::string_view check, Grade grade, const Axis& axis);
/// Adds the place, and " at line 12, 3.4 s, X 57.1 mm" to the message.
void place(Finding& finding, const Axis& axis, const Moment& at);
/// The same without a position.
void place(Finding& finding, const Extreme& at);

}  // namespace stepper_sim::words
