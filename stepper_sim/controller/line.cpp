#include <algorithm>
#include <array>
#include <bit>
#include <cstdlib>
#include <vector>

#include "stepper_sim/controller/line_steps.hpp"
#include "stepper_sim/controller/processor_cost.hpp"
#include "stepper_sim/controller/step_clock.hpp"
#include "stepper_sim/controller/styles.hpp"

namespace stepper_sim::controller {
namespace {

class LineStyle final : public Style {
  public:
    explicit LineStyle(const machine::Machine& machine)
        : scale_(motor_scale(machine)),
          tick_hz_(tick_hz_of(machine.controller)),
          cost_(processor_cost(machine.controller)),
          share_(machine.controller.processor_share),
          most_in_batch_(machine.controller.max_steps_per_interrupt) {
        rest_.clock = &clock_;
    }

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
        core_.begin(counts, static_cast<std::uint8_t>(scale_.count));
        next_ = 0;
        batch_left_ = 0;
        if (core_.events() > 0) {
            clock_.begin(move, tick_hz_);
            event_m_ = move.length_m / static_cast<double>(core_.events());
        }
        return steps_;
    }

    std::size_t events(std::span<StepEvent> out) override {
        const std::size_t count = std::min<std::uint64_t>(out.size(), core_.events() - next_);
        if (count == 1) {
            out[0] = {tick_of(next_), core_.next(), 1, 0};
        } else {
            ticks_.resize(count);
            clock_.ticks_at_middles(next_, event_m_, ticks_);
            for (std::size_t i = 0; i < count; ++i)
                out[i] = {ticks_[i], core_.next(), 1, 0};
        }
        if (most_in_batch_ > 1) form_batches(out.first(count));
        next_ += count;
        return count;
    }

    const RestOfMove* rest() override {
        constexpr std::uint64_t kMostEvents = std::uint64_t{1} << 31;  // their squares fit 64 bits
        if (next_ >= core_.events() || core_.events() > kMostEvents || batch_left_ > 0)
            return nullptr;
        rest_.spacing = clock_.least_ticks(event_m_);
        if (rest_.spacing <= 0 || (most_in_batch_ > 1 && batch_for(rest_.spacing) > 1))
            return nullptr;
        rest_.share_m = event_m_;
        rest_.next = next_;
        rest_.shares = core_.events();
        tell_first_and_last();
        return &rest_;
    }

    const MoveSteps& finish() override {
        steps_ = {};
        next_ = core_.events();
        return steps_;
    }

  private:
    // Event k (from 0) lies in the middle of its share of the move: positions are rounded to the
    // nearest whole step.
    std::int64_t tick_of(std::uint64_t event) { return clock_.tick_at(place_m(event)); }

    double place_m(std::uint64_t event) const {
        return (static_cast<double>(static_cast<std::int64_t>(event)) + 0.5) * event_m_;
    }

    // One of the motors steps at every event: its first step is the next event, its last the last.
    void tell_first_and_last() {
        std::array<double, std::size_t{2} * planner::kMaxAxes> places_m;
        std::array<std::int64_t, places_m.size()> ticks;
        std::size_t count = 0;
        rest_.stepping = 0;
        for (unsigned bits = steps_.motors; bits != 0; bits &= bits - 1) {
            const auto m = static_cast<std::size_t>(std::countr_zero(bits));
            const auto steps = static_cast<std::uint64_t>(std::abs(steps_.steps[m]));
            std::uint64_t first = next_, last = core_.events() - 1;
            if (steps < core_.events()) {  // not the busiest
                const std::uint64_t done = next_ == 0 ? 0 : core_.steps_before(next_, steps);
                if (done == steps) continue;
                core_.first_and_last_event_of(steps, first, last);
                if (done > 0) first = core_.event_of(done + 1, steps);
            }
            rest_.stepping |= 1U << m;
            places_m[count++] = place_m(first);
            places_m[count++] = place_m(last);
        }
        clock_.ticks_at(std::span(places_m).first(count), ticks);
        rest_.next_tick = INT64_MAX;
        rest_.last_tick = INT64_MIN;
        const std::int64_t* tick = ticks.data();
        for (unsigned bits = rest_.stepping; bits != 0; bits &= bits - 1) {
            const auto m = static_cast<std::size_t>(std::countr_zero(bits));
            rest_.first[m] = *tick++;
            rest_.last[m] = *tick++;
            rest_.next_tick = std::min(rest_.next_tick, rest_.first[m]);
            rest_.last_tick = std::max(rest_.last_tick, rest_.last[m]);
        }
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
    LineSteps<std::uint64_t, planner::kMaxAxes> core_;
    StepClock clock_;
    std::vector<std::int64_t> ticks_;
    double event_m_ = 0.0;  // path length of one event
    RestOfMove rest_;
    std::uint64_t next_ = 0;
    int batch_left_ = 0;
};

}  // namespace

std::unique_ptr<Style> make_line(const machine::Machine& machine) {
    return std::make_unique<LineStyle>(machine);
}

}  // namespace stepper_sim::controller
