#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

#include "stepper_sim/controller/motor_merge.hpp"
#include "stepper_sim/controller/step_clock.hpp"
#include "stepper_sim/controller/styles.hpp"

namespace stepper_sim::controller {
namespace {

/// Closed form of what pulse/accumulator.hpp does period by period (a test holds the two
/// together): a step falls due in the middle of its share of the move and leaves at the next
/// period; one step per motor and period, the rest stays owed.
class FixedRateStyle final : public Style {
  public:
    explicit FixedRateStyle(const machine::Machine& machine)
        : scale_(motor_scale(machine)),
          tick_hz_(tick_hz_of(machine.controller)),
          base_rate_hz_(std::max<std::int64_t>(machine.controller.base_rate_hz, 1)),
          due_(0.5 - std::ldexp(0.5, -machine.controller.accumulator_bits)) {}

    std::int64_t tick_hz() const override { return tick_hz_; }

    const MoveSteps& begin(const planner::MotorMove& move) override {
        steps_ = {};
        const StepClock clock(move, base_rate_hz_);
        for (std::size_t m = 0; m < static_cast<std::size_t>(scale_.count); ++m) {
            Motor& motor = motors_[m];
            if (!started_) motor.at = whole_steps(move.motor_start_m[m], scale_.steps_per_m[m]);
            const std::int64_t end = whole_steps(move.motor_end_m[m], scale_.steps_per_m[m]);
            const std::int64_t steps = end - motor.at;
            motor.at = end;
            steps_.set(m, steps);
            if (steps == 0) continue;
            motor.clock = clock;
            motor.step_m = move.length_m / static_cast<double>(std::abs(steps));
            motor.done = 0;
        }
        started_ = true;
        merge_.begin(steps_);
        return steps_;
    }

    std::size_t events(std::span<StepEvent> out) override {
        return merge_.fill(out, [this](std::size_t m) {
            Motor& motor = motors_[m];
            const double distance_m = (static_cast<double>(motor.done++) + due_) * motor.step_m;
            const std::int64_t due = motor.clock.period_at(distance_m);
            motor.period = std::max(due, motor.period + 1);
            return DueStep{tick_of(motor.period), tick_of(motor.period) - tick_of(due)};
        });
    }

    const MoveSteps& finish() override {
        steps_ = {};
        merge_.begin(steps_);
        return steps_;
    }

  private:
    struct Motor {
        std::int64_t at = 0;       // whole steps
        double step_m = 0.0;       // path length of one step
        std::int64_t done = 0;     // steps of this move asked for
        std::int64_t period = -1;  // of its last step
        StepClock clock;
    };

    // Whole seconds and the rest apart: the product would overflow after an hour of a fast tick.
    std::int64_t tick_of(std::int64_t period) const {
        return period / base_rate_hz_ * tick_hz_ +
               period % base_rate_hz_ * tick_hz_ / base_rate_hz_;
    }

    MotorScale scale_;
    std::int64_t tick_hz_, base_rate_hz_;
    double due_;  // place of a step in its share of the move: the middle, less half a unit of the
                  // accumulator, which rounds
    std::array<Motor, planner::kMaxAxes> motors_{};
    MoveSteps steps_;
    MotorMerge merge_;
    bool started_ = false;
};

}  // namespace

std::unique_ptr<Style> make_fixed_rate(const machine::Machine& machine) {
    return std::make_unique<FixedRateStyle>(machine);
}

}  // namespace stepper_sim::controller
