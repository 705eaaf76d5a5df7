#include "stepper_sim/run/moment.hpp"

#include <algorithm>
#include <cmath>

#include "planner/profile/motion.hpp"

namespace stepper_sim::run {

double position_in(const planner::MotorMove& move, std::size_t slot, double after_s) {
    const double along = planner::distance_at(move.profile, std::max(0.0, after_s));
    return std::lerp(move.tool_start_m[slot], move.tool_end_m[slot], along / move.length_m);
}

Moment moment_in(const planner::MotorMove& move, std::size_t slot, double after_s) {
    return {move.line, move.start.seconds() + after_s, position_in(move, slot, after_s)};
}

}  // namespace stepper_sim::run
