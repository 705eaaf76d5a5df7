/// The most that inputs of several kinds may say: only a wrong unit gets past these.
#pragma once

namespace stepper_sim::machine::reading {

inline constexpr double kMaxSupply_V = 1000.0;
inline constexpr double kMaxCurrent_A = 100.0;

}  // namespace stepper_sim::machine::reading
