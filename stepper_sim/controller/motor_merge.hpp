/// Joins the step times of several motors, each with its own times, into one sequence of events
/// in time order; steps at the same tick become one event. Used by the styles in which every
/// motor has its own times.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <limits>
#include <span>

#include "stepper_sim/controller/style.hpp"

namespace stepper_sim::controller {

/// One motor's next step: when it leaves, and how many ticks that is after it fell due.
struct DueStep {
    std::int64_t tick = 0;
    std::int64_t behind = 0;
};

class MotorMerge {
  public:
    void begin(const MoveSteps& steps) {
        waiting_ = 0;
        for (std::size_t m = 0; m < steps.steps.size(); ++m) {
            left_[m] = steps.steps[m] < 0 ? -steps.steps[m] : steps.steps[m];
            if (left_[m] > 0) waiting_ = static_cast<std::uint16_t>(waiting_ | (1U << m));
        }
        fresh_ = waiting_;
    }

    /// `next_step(m)`: the next DueStep of motor m, in order.
    template <class NextStep>
    std::size_t fill(std::span<StepEvent> out, NextStep&& next_step) {
        for (unsigned bits = fresh_; bits != 0; bits &= bits - 1) {
            const auto m = static_cast<std::size_t>(std::countr_zero(bits));
            due_[m] = next_step(m);
        }
        fresh_ = 0;
        std::size_t count = 0;
        for (; count < out.size() && waiting_ != 0; ++count)
            out[count] = take(next_step);
        return count;
    }

  private:
    template <class NextStep>
    StepEvent take(NextStep& next_step) {
        std::int64_t first = std::numeric_limits<std::int64_t>::max();
        for (unsigned bits = waiting_; bits != 0; bits &= bits - 1) {
            first = std::min(first, due_[static_cast<std::size_t>(std::countr_zero(bits))].tick);
        }
        StepEvent event{first, 0, 1, 0};
        for (unsigned bits = waiting_; bits != 0; bits &= bits - 1) {
            const auto m = static_cast<std::size_t>(std::countr_zero(bits));
            if (due_[m].tick != first) continue;
            const unsigned mask = 1U << m;
            event.motors = static_cast<std::uint16_t>(event.motors | mask);
            event.behind = static_cast<std::uint32_t>(
                std::clamp<std::int64_t>(due_[m].behind, event.behind, UINT32_MAX));
            if (--left_[m] == 0) {
                waiting_ = static_cast<std::uint16_t>(waiting_ & ~mask);
            } else {
                due_[m] = next_step(m);
            }
        }
        return event;
    }

    std::array<DueStep, planner::kMaxAxes> due_{};
    std::array<std::int64_t, planner::kMaxAxes> left_{};
    std::uint16_t waiting_ = 0;  // motors with steps left
    std::uint16_t fresh_ = 0;    // of these, whose first step has not been asked for
};

}  // namespace stepper_sim::controller
