/// A machine's settings, scaled: what may be otherwise on the controller that ran a program than in the machine file. Found from a
/// trace by capture_settings.hpp.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::capture {

enum class Scaled : std::uint8_t { feed, max_speed, max_acceleration, corner };
inline constexpr std::size_t kScaledCount = 4;

/// By Scaled: of every feed of the program; of max_speed, max_acceleration (path_acceleration too) and speed_step (or deviation)
/// of every axis.
using SettingScales = std::array<double, kScaledCount>;
inline constexpr SettingScales kAsSet = {1.0, 1.0, 1.0, 1.0};

machine::Machine scaled_machine(machine::Machine machine, const SettingScales& scales);

/// "speeds x 0.80 and accelerations x 0.50": those that differ from 1.
std::string scales_text(const SettingScales& scales, const machine::Machine& machine);

}  // namespace stepper_sim::capture
