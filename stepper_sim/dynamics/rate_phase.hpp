/// A stretch of constant motor acceleration: what the planner's phases become at one motor.
#pragma once

namespace stepper_sim {

struct RatePhase {
    double duration_s = 0.0;
    double start_rate_rad_s =
        0.0;  // signed; a difference from the end of the phase before is a speed jump
    double acceleration_rad_s2 = 0.0;

    double end_rate_rad_s() const { return start_rate_rad_s + acceleration_rad_s2 * duration_s; }
};

}  // namespace stepper_sim
