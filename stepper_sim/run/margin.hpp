/// How much of what a machine can do must stay unused before anything is called clear.
#pragma once

namespace stepper_sim::run {

/// Common practice, no source: settings are backed off by 20 % from what just holds.
inline constexpr double kDefaultMargin = 0.2;

}  // namespace stepper_sim::run
