#include "stepper_sim/controller/continuous.hpp"

#include <cmath>

namespace stepper_sim::controller {
namespace {

constexpr double kBand_steps = 0.75;  // from a whole position to where the next step falls due

// Steps that fall due while the position goes from its last whole position `at` to `end`, in the
// direction of `sign`.
std::int64_t steps_due(std::int64_t at, double end, double sign) {
    const double beyond = sign * (end - static_cast<double>(at)) - kBand_steps;
    return beyond < 0.0 ? 0 : static_cast<std::int64_t>(std::floor(beyond)) + 1;
}

}  // namespace

const MoveSteps& ContinuousStyle::begin(const planner::MotorMove& move) {
    steps_ = {};
    const StepClock clock(move, tick_hz_);
    end_tick_ = clock.end_tick();
    for (std::size_t m = 0; m < static_cast<std::size_t>(scale_.count); ++m) {
        Motor& motor = motors_[m];
        if (!started_) {
            motor.position = move.motor_start_m[m] * scale_.steps_per_m[m];
            motor.at = whole_steps(move.motor_start_m[m], scale_.steps_per_m[m]);
        }
        const double start = motor.position;
        const double end = move.motor_end_m[m] * scale_.steps_per_m[m];
        motor.position = end;
        if (end == start) continue;
        const double sign = end > start ? 1.0 : -1.0;
        const std::int64_t due = steps_due(motor.at, end, sign);
        steps_.set(m, end > start ? due : -due);
        if (due == 0) continue;
        motor.step_m = move.length_m / (sign * (end - start));
        motor.first_m =
            (sign * (static_cast<double>(motor.at) - start) + kBand_steps) * motor.step_m;
        motor.done = 0;
        motor.clock = clock;
        motor.at += steps_.steps[m];
    }
    started_ = true;
    merge_.begin(steps_);
    return steps_;
}

std::size_t ContinuousStyle::events(std::span<StepEvent> out) {
    return merge_.fill(out, [this](std::size_t m) {
        Motor& motor = motors_[m];
        if (finished_) return DueStep{end_tick_, 0};
        const double distance_m = motor.first_m + static_cast<double>(motor.done++) * motor.step_m;
        return DueStep{motor.clock.tick_at(distance_m), 0};
    });
}

const MoveSteps& ContinuousStyle::finish() {
    steps_ = {};
    finished_ = true;
    for (std::size_t m = 0; m < static_cast<std::size_t>(scale_.count); ++m) {
        const std::int64_t missing = std::llround(motors_[m].position) - motors_[m].at;
        steps_.set(m, missing);
        motors_[m].at += missing;
    }
    merge_.begin(steps_);
    return steps_;
}

}  // namespace stepper_sim::controller
