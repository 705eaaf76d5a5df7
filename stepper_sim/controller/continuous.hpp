/// Every motor's position rounded to whole steps on its own, as it moves: the common part of
/// `ideal` and `scheduled`. What the band still hides when the program ends is made up there, so the
/// end is the rounded end position as in every style.
/// Model:   a band of half a step around the rounding point, so that a reversal on it makes no pair of steps
/// Formula: from n a step up is due where the position passes n + 3/4, a step down where it passes n - 3/4
/// Symbols: n = whole steps so far; position in steps
/// Valid:   a step leaves at the tick nearest to its exact moment (step_clock.hpp); steps of one direction are one whole step apart
/// Source:  hysteresis; the width is a guess: the middle between none and a whole step
/// Checked by: PulseRun.ReversalsOnTheRoundingPointMakeNoPairsOfSteps, Scheduled.StepsLieWithinHalfATickOfTheIdealOnes
#pragma once

#include <array>

#include "stepper_sim/controller/motor_merge.hpp"
#include "stepper_sim/controller/step_clock.hpp"
#include "stepper_sim/controller/style.hpp"

namespace stepper_sim::controller {

class ContinuousStyle final : public Style {
  public:
    ContinuousStyle(const machine::Machine& machine, std::int64_t tick_hz)
        : scale_(motor_scale(machine)), tick_hz_(tick_hz) {}

    std::int64_t tick_hz() const override { return tick_hz_; }
    const MoveSteps& begin(const planner::MotorMove& move) override;
    std::size_t events(std::span<StepEvent> out) override;
    const MoveSteps& finish() override;

  private:
    struct Motor {
        std::int64_t at = 0;    // whole steps emitted so far
        double position = 0.0;  // commanded, in steps, where the move before ended
        double first_m = 0.0;   // distance along the move of its first step
        double step_m = 0.0;    // distance from step to step
        std::int64_t done = 0;  // steps of this move asked for
        StepClock clock;
    };

    MotorScale scale_;
    std::int64_t tick_hz_;
    std::array<Motor, planner::kMaxAxes> motors_{};
    MoveSteps steps_;
    MotorMerge merge_;
    std::int64_t end_tick_ = 0;
    bool started_ = false, finished_ = false;
};

}  // namespace stepper_sim::controller
