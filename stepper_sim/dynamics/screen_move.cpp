#include "stepper_sim/dynamics/screen_move.hpp"

#include <cstddef>

namespace stepper_sim {
namespace {

double motor_share(const planner::MotorMove& move, int slot, double rad_per_m) {
    const auto motor = static_cast<std::size_t>(slot);
    return (move.motor_end_m[motor] - move.motor_start_m[motor]) / move.length_m * rad_per_m;
}

template <class Sink>
void for_each_phase(const planner::MotorMove& move, double rad_per_path_m, Sink&& sink) {
    if (move.rest_before_s >= 0.0) sink(RatePhase{move.rest_before_s, 0.0, 0.0});
    for (int i = 0; i < move.profile.count; ++i) {
        const planner::Phase& phase = move.profile.phases[static_cast<std::size_t>(i)];
        sink(RatePhase{phase.duration_s, phase.start_speed_m_s * rad_per_path_m,
                       phase.acceleration_m_s2 * rad_per_path_m});
    }
}

}  // namespace

void append_rate_phases(const planner::MotorMove& move, int slot, double rad_per_m,
                        std::vector<RatePhase>& phases) {
    for_each_phase(move, motor_share(move, slot, rad_per_m),
                   [&phases](const RatePhase& phase) { phases.push_back(phase); });
}

MoveScreen screen_move(ModalScreen& screen, const planner::MotorMove& move, int slot,
                       double rad_per_m) {
    for_each_phase(move, motor_share(move, slot, rad_per_m),
                   [&screen](const RatePhase& phase) { screen.phase(phase); });
    MoveScreen result = screen.end_move();
    const double rest_s = move.rest_before_s >= 0.0 ? move.rest_before_s : 0.0;
    result.peak_time_s -= rest_s;
    result.duration_s -= rest_s;
    return result;
}

}  // namespace stepper_sim
