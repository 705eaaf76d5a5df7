#include <algorithm>
#include <array>
#include <cstdlib>
#include <vector>

#include "stepper_sim/controller/processor_cost.hpp"
#include "stepper_sim/controller/step_clock.hpp"
#include "stepper_sim/controller/styles.hpp"
#include "stepper_sim/pulse/line_steps.hpp"

namespace stepper_sim {
namespace {

class LineStyle final : public Style {
  public:
    explicit LineStyle(const Machine& machine)
        : scale_(motor_scale(machine)),
          tick_hz_(tick_hz_of(machine.controller)),
          cost_(processor_cost(machine.controller)),
          share_(machine.controller.processor_share),
          most_in_batch_(machine.controller.max_steps_per_interrupt) {}

    std::int64_t tick_hz() const override { return tick_hz_; }

    const MoveSteps& begin(const planner::MotorMove& move) override {
        std::uint64_t counts[planner::kMaxAxes] = {};  // NOLINT(*-avoid-c-arrays): the core's
        steps_ = {};
        for (std::size_t m = 0; m < static_cast<std::size_t>(scale_.count); ++m) {
            if (!started_) at_[m] = whole_steps(move.motor_start_m[m], scale_.steps_per_m[m]);
            const std::int64_t end = whole_steps(move.motor_end_m[m], scale_.steps_per_m[m]);
            steps_.set(m, end - at_[m]);
            counts[m] = static_cast<std::uint64_t>(std::abs(end - at_[m]));
            at_[m] = end;
        }
        started_ = true;
        core_.begin(counts);
        next_ = 0;
        batch_left_ = 0;
        if (core_.events() > 0) {
            clock_ = StepClock(move, tick_hz_);
            event_m_ = move.length_m / static_cast<double>(core_.events());
        }
        return steps_;
    }

    std::size_t events(std::span<StepEvent> out) override {
        const std::size_t count = std::min<std::uint64_t>(out.size(), core_.events() - next_);
        ticks_.resize(count);
        clock_.ticks_at_middles(next_, event_m_, ticks_);
        for (std::size_t i = 0; i < count; ++i)
            out[i] = {ticks_[i], core_.next(), 1, 0};
        if (most_in_batch_ > 1) form_batches(out.first(count));
        next_ += count;
        return count;
    }

    Ahead ahead() override {
        constexpr std::uint64_t kMostEvents = std::uint64_t{1} << 31;  // their squares fit 64 bits
        if (next_ >= core_.events() || core_.events() > kMostEvents || batch_left_ > 0) return {};
        const Ahead ahead{tick_of(next_), clock_.least_ticks(event_m_)};
        return most_in_batch_ <= 1 || batch_for(ahead.spacing) == 1 ? ahead : Ahead{};
    }

    RestOfMove skip(std::int64_t tail_ticks) override {
        const std::uint64_t last = core_.events() - 1;
        const auto tail = static_cast<std::uint64_t>(tail_ticks / clock_.least_ticks(event_m_) + 1);
        const std::uint64_t from = std::max(next_, last - std::min(last, tail));
        RestOfMove rest;
        for (std::size_t m = 0; m < static_cast<std::size_t>(scale_.count); ++m) {
            const auto steps = static_cast<std::uint64_t>(std::abs(steps_.steps[m]));
            if (steps == 0) continue;
            const std::uint64_t done = core_.steps_before(next_, steps);
            if (done == steps) continue;
            rest.stepping |= 1U << m;
            rest.first[m] = tick_of(core_.event_of(done + 1, steps));
            rest.last[m] = tick_of(core_.event_of(steps, steps));
        }
        ticks_.resize(core_.events() - from);
        clock_.ticks_at_middles(from, event_m_, ticks_);
        rest.last_ticks = ticks_;
        next_ = core_.events();
        return rest;
    }

    const MoveSteps& finish() override {
        steps_ = {};
        next_ = core_.events();
        return steps_;
    }

  private:
    // Event k (from 0) lies in the middle of its share of the move: positions are rounded to the
    // nearest whole step.
    std::int64_t tick_of(std::uint64_t event) {
        return clock_.tick_at((static_cast<double>(event) + 0.5) * event_m_);
    }

    void form_batches(std::span<StepEvent> out) {
        for (std::size_t i = 0; i < out.size(); ++i) {
            if (batch_left_ == 0) {
                const std::uint64_t left = core_.events() - next_ - i;
                std::int64_t interval = 0;
                if (i + 1 < out.size()) {
                    interval = out[i + 1].tick - out[i].tick;
                } else if (left > 1) {
                    interval = tick_of(next_ + i + 1) - out[i].tick;
                }
                batch_left_ = left > 1 ? static_cast<int>(std::min<std::uint64_t>(
                                             left, static_cast<std::uint64_t>(batch_for(interval))))
                                       : 1;
                out[i].batch = static_cast<std::uint16_t>(batch_left_);
            } else {
                out[i].batch = 0;
            }
            --batch_left_;
        }
    }

    // The fewest steps per interrupt that keep the processor within its share; the most when none
    // does.
    int batch_for(std::int64_t interval_ticks) const {
        int batch = 1;
        while (batch * 2 <= most_in_batch_) {
            const double allowed = share_ * static_cast<double>(batch) *
                                   static_cast<double>(interval_ticks) * (1 << kFineBits);
            if (static_cast<double>(cost_.interrupt(batch, steps_.moving)) <= allowed) break;
            batch *= 2;
        }
        return batch;
    }

    MotorScale scale_;
    std::int64_t tick_hz_;
    ProcessorCost cost_;
    double share_;
    int most_in_batch_;

    std::array<std::int64_t, planner::kMaxAxes> at_{};  // whole steps
    bool started_ = false;
    MoveSteps steps_;
    pulse::LineSteps<std::uint64_t, planner::kMaxAxes> core_;
    StepClock clock_;
    std::vector<std::int64_t> ticks_;
    double event_m_ = 0.0;  // path length of one event
    std::uint64_t next_ = 0;
    int batch_left_ = 0;
};

}  // namespace

std::unique_ptr<Style> make_line(const Machine& machine) {
    return std::make_unique<LineStyle>(machine);
}

}  // namespace stepper_sim
