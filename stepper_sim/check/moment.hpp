/// Where and when something happened in a program.
#pragma once

#include <cstdint>

namespace stepper_sim {

struct Moment {
    std::uint64_t line = 0;   // program line
    double time_s = 0.0;      // since the program began
    double position_m = 0.0;  // of the axis that names the motor
};

}  // namespace stepper_sim
