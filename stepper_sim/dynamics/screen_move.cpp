#include "stepper_sim/dynamics/screen_move.hpp"

namespace stepper_sim::dynamics {
void append_rate_phases(const planner::MotorMove& move, int slot, double rad_per_m,
                        std::vector<RatePhase>& phases) {
    for_each_rate_phase(move, motor_share(move, static_cast<std::size_t>(slot), rad_per_m),
                        [&phases](const RatePhase& phase) { phases.push_back(phase); });
}

MoveScreen screen_move(ModalScreen& screen, const planner::MotorMove& move, int slot,
                       double rad_per_m) {
    for_each_rate_phase(move, motor_share(move, static_cast<std::size_t>(slot), rad_per_m),
                        [&screen](const RatePhase& phase) { screen.phase(phase); });
    MoveScreen result = screen.end_move();
    const double rest_s = move.rest_before_s >= 0.0 ? move.rest_before_s : 0.0;
    result.peak_time_s -= rest_s;
    result.duration_s -= rest_s;
    return result;
}

}  // namespace stepper_sim::dynamics
