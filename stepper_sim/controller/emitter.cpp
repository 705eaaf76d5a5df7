#include "stepper_sim/controller/emitter.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

namespace stepper_sim::controller {
namespace {

constexpr std::int64_t kMostApart = 1 << 20;  // events; more would prove nothing more
constexpr std::int64_t kMostLate =
    INT64_MAX / 4;  // fine ticks; a hopelessly late program stays there

std::int64_t window_ticks(std::int64_t tick_hz) {
    return std::llround(kLoadWindow_s * static_cast<double>(tick_hz));
}

std::int64_t fine(std::int64_t ticks) {
    return std::min(ticks, kMostLate >> kFineBits) * (std::int64_t{1} << kFineBits);
}

/// The product, or the largest number where it would be larger: a first event comes after an endless pause.
std::int64_t times(std::int64_t a, std::int64_t b) {
    std::int64_t product = 0;
    return __builtin_mul_overflow(a, b, &product) ? INT64_MAX : product;
}

/// The motor of the lowest bit.
std::size_t slot_of(unsigned bits) {
    return static_cast<std::size_t>(std::countr_zero(bits));
}

}  // namespace

Emitter::Emitter(const machine::ControllerPart& controller, EdgeSink* sink)
    : hz_(static_cast<double>(tick_hz_of(controller))),
      pulse_(ticks_up(controller.pulse_high, tick_hz_of(controller), 1)),
      setup_(ticks_up(controller.direction_setup, tick_hz_of(controller), 0)),
      hold_(ticks_up(controller.direction_hold, tick_hz_of(controller), 0)),
      cost_(processor_cost(controller)),
      serves_all_(controller.style != machine::ControllerStyle::scheduled),
      turns_together_(controller.style == machine::ControllerStyle::line),
      one_by_one_(turns_together_ && controller.max_steps_per_interrupt <= 1),
      load_(window_ticks(tick_hz_of(controller))),
      order_(sink) {
    if (controller.style == machine::ControllerStyle::fixed_rate && controller.base_rate_hz > 0) {
        base_rate_hz_ = static_cast<double>(controller.base_rate_hz);
        period_ = static_cast<std::int64_t>(std::ldexp(hz_ / base_rate_hz_, kFineBits));
    }
}

void Emitter::edges_to(EdgeSink* sink) {
    order_.finish();
    order_ = EdgeOrder(sink);
}

void Emitter::begin(const MoveSteps& steps, std::uint64_t line) {
    moving_ = steps.moving;
    motors_moving_ = steps.motors;
    line_ = line;
    most_steps_ = 0;
    for (unsigned bits = steps.motors; bits != 0; bits &= bits - 1) {
        const std::size_t m = slot_of(bits);
        const std::int64_t count = steps.steps[m];
        steps_[m] = std::abs(count);
        most_steps_ = std::max(most_steps_, steps_[m]);
        motors_[m].wanted = count > 0 ? 1 : -1;
        const unsigned turns = motors_[m].wanted != motors_[m].direction ? 1 : 0;
        to_turn_ = (to_turn_ & ~(1U << m)) | turns << m;
        motors_[m].timing.steps += steps_[m];
        motors_[m].timing.net_steps += count;
    }
    // Motors with times of their own may fall due together: one waits for the others, which is no
    // fault.
    tolerated_ = serves_all_ ? 0 : ((moving_ - 1) * cost_.interrupt(1, 1) >> kFineBits) + 1;
}

void Emitter::take(std::span<const StepEvent> events) {
    std::size_t next = 0;
    while (next < events.size()) {
        if (calm() && serve_on_time(events.subspan(next))) return;
        // Until the delay or the turn that made the difference is over, and then a few more.
        constexpr std::size_t kBeforeNextTry = 64;
        const std::size_t end = std::min(events.size(), calm() ? next + kBeforeNextTry : next + 1);
        for (; next < end; ++next) {
            serve(events[next]);
        }
    }
}

bool Emitter::undisturbed() const {
    return turns_together_ && !order_.wanted() && to_turn_ == 0 && late_fine_ == 0 &&
           interrupt_due_ >= last_rise_;
}

// Nothing is late, delayed or turned if every event leaves room for the longest interrupt and pulse.
std::int64_t Emitter::room(std::int64_t cost) const {
    return std::max(std::max(cost, interrupt_cost_) >> kFineBits, pulse_);
}

/// Ticks between two steps of a moving motor, at least, where events are no closer than `spacing`: but for the busiest motor's, steps
/// are some events apart.
std::int64_t Emitter::steps_apart(std::size_t m, std::int64_t spacing) const {
    // Enough, and no division.
    if (spacing >= motors_[m].shortest_interval) return spacing;
    // One step has no interval within the move.
    const std::int64_t events =
        steps_[m] == 1 ? kMostApart : std::min(most_steps_ / steps_[m], kMostApart);
    return times(events, spacing);
}

bool Emitter::nothing_new(const RestOfMove& rest) const {
    const std::int64_t cost = cost_.interrupt(1, moving_);
    const std::int64_t spacing = std::min(rest.spacing, rest.next_tick - interrupt_due_);
    if (spacing <= room(cost)) return false;
    for (unsigned bits = motors_moving_; bits != 0; bits &= bits - 1) {
        const std::size_t m = slot_of(bits);
        if (steps_apart(m, rest.spacing) < motors_[m].shortest_interval) return false;
    }
    return cost == 0 || load_.stays_below_peak(rest.next_tick, spacing, cost);
}

void Emitter::pass_over(const RestOfMove& rest) {
    for (unsigned bits = rest.stepping; bits != 0; bits &= bits - 1) {
        const std::size_t m = slot_of(bits);
        step(m, rest.first[m]);
        motors_[m].last_rise = rest.last[m];
    }
    interrupt_cost_ = cost_.interrupt(1, moving_);
    if (interrupt_cost_ > 0) load_.keep_later(rest, interrupt_cost_);
    interrupt_due_ = last_rise_ = rest.last_tick;
}

// Where nothing is late, only each motor's shortest interval and the load can change.
bool Emitter::serve_on_time(std::span<const StepEvent> events) {
    std::int64_t before = interrupt_due_, spacing = kNever;
    for (const StepEvent& event : events) {
        spacing = std::min(spacing, event.tick - before);
        before = event.tick;
    }
    const std::int64_t cost = cost_.interrupt(1, moving_);
    if (spacing <= room(cost)) return false;

    if (cost > 0 && load_.stays_below_peak(events.front().tick, spacing, cost)) {
        load_.keep(events, cost);
    } else if (cost > 0) {
        for (const StepEvent& event : events)
            if (load_.add(event.tick, cost)) note_load_peak(event.tick);
    }
    for (unsigned bits = motors_moving_; bits != 0; bits &= bits - 1) {
        step_on_time(slot_of(bits), events, spacing);
    }
    interrupt_due_ = last_rise_ = before;
    interrupt_cost_ = cost;
    return true;
}

void Emitter::step_on_time(std::size_t m, std::span<const StepEvent> events, std::int64_t spacing) {
    const auto steps = [m](const StepEvent& event) { return (event.motors >> m & 1U) != 0; };
    auto at = std::find_if(events.begin(), events.end(), steps);
    if (at == events.end()) return;
    step(m, at->tick);
    if (steps_apart(m, spacing) >= motors_[m].shortest_interval) {
        motors_[m].last_rise = std::find_if(events.rbegin(), events.rend(), steps)->tick;
        return;
    }
    for (++at; at != events.end(); ++at) {
        if (steps(*at)) step(m, at->tick);
    }
}

void Emitter::serve(const StepEvent& event) {
    const bool own_interrupt = event.batch > 0;
    std::int64_t rise = own_interrupt ? event.tick + begin_interrupt(event) : batch_next_;
    const unsigned turning = to_turn_ & (turns_together_ ? ~0U : event.motors);
    rise = allowed(event.motors, turning, std::max(rise, last_rise_));
    if (own_interrupt && rise > event.tick) {
        late_fine_ = std::max(late_fine_, fine(rise - event.tick));
    }
    if (rise > event.tick || event.behind > 0) count_lateness(event, rise);
    to_turn_ &= ~turning;
    for (unsigned bits = turning; bits != 0; bits &= bits - 1) {
        turn(slot_of(bits), rise - setup_);
    }
    for (unsigned bits = event.motors; bits != 0; bits &= bits - 1) {
        step(slot_of(bits), rise);
    }
    last_rise_ = rise;
    batch_next_ = rise + std::max(cost_.one_event(moving_) >> kFineBits, pulse_ + 1);
    if (order_.wanted()) order_.settle(rise - setup_);
}

std::int64_t Emitter::begin_interrupt(const StepEvent& event) {
    const int served = serves_all_ ? moving_ : std::popcount(event.motors);
    const std::int64_t cost = cost_.interrupt(event.batch, served);
    const std::int64_t spacing = event.tick - interrupt_due_;
    interrupt_due_ = event.tick;
    if (cost == 0 && late_fine_ == 0) return 0;

    if (period_ > 0) {
        const double load = static_cast<double>(cost) / static_cast<double>(period_);
        const std::int64_t over = cost - period_;
        const std::int64_t periods =
            std::min(spacing, kMostLate >> kFineBits) * (std::int64_t{1} << kFineBits) / period_;
        late_fine_ =
            over <= 0 ? 0
                      : std::min(late_fine_ + std::min(times(periods, over), kMostLate), kMostLate);
        if (load > controller_.load_peak.value) {
            controller_.load_peak = {load, line_, static_cast<double>(event.tick) / hz_};
        }
        return late_fine_ >> kFineBits;
    }

    const std::int64_t backlog = std::min(late_fine_ + interrupt_cost_, kMostLate);
    late_fine_ = spacing > backlog >> kFineBits ? 0 : backlog - fine(spacing);
    interrupt_cost_ = cost;
    if (load_.add(event.tick, cost)) note_load_peak(event.tick);
    return late_fine_ >> kFineBits;
}

std::int64_t Emitter::allowed(unsigned stepping, unsigned turning, std::int64_t rise) const {
    for (unsigned bits = stepping; bits != 0; bits &= bits - 1) {
        const Motor& motor = motors_[slot_of(bits)];
        rise = std::max(rise, motor.last_rise + pulse_ + 1);
    }
    for (unsigned bits = turning; bits != 0; bits &= bits - 1) {
        const Motor& motor = motors_[slot_of(bits)];
        rise = std::max(rise, std::max(motor.last_rise + hold_, std::int64_t{0}) + setup_);
    }
    return rise;
}

void Emitter::turn(std::size_t m, std::int64_t tick) {
    Motor& motor = motors_[m];
    motor.direction = motor.wanted;
    ++motor.timing.turns;
    const std::int64_t held = tick - motor.last_rise;
    if (held < motor.shortest_hold) {
        motor.shortest_hold = held;
        motor.timing.min_hold_s = here(held, tick);
    }
    motor.turned = tick;
    if (!order_.wanted()) return;
    order_.add({tick, line_, static_cast<std::uint8_t>(m), EdgeKind::direction, motor.direction});
}

void Emitter::step(std::size_t m, std::int64_t tick) {
    Motor& motor = motors_[m];
    const std::int64_t interval = tick - motor.last_rise;
    if (interval < motor.shortest_interval) {
        motor.shortest_interval = interval;
        motor.timing.min_interval_s = here(interval, tick);
        motor.timing.min_low_s = here(interval - pulse_, tick);
    }
    if (motor.last_rise == kLongAgo) motor.timing.min_high_s = here(pulse_, tick);
    const std::int64_t settled = tick - motor.turned;
    if (settled < motor.shortest_setup) {
        motor.shortest_setup = settled;
        motor.timing.min_setup_s = here(settled, tick);
    }
    motor.turned = kLongAgo;
    motor.last_rise = tick;
    if (!order_.wanted()) return;
    const auto slot = static_cast<std::uint8_t>(m);
    order_.add({tick, line_, slot, EdgeKind::step_rise, motor.direction});
    order_.add({tick + pulse_, line_, slot, EdgeKind::step_fall, motor.direction});
}

void Emitter::count_lateness(const StepEvent& event, std::int64_t rise) {
    const std::int64_t late = rise - event.tick + event.behind;
    if (late <= 0) return;
    if (late > tolerated_) {
        controller_.late_pulses += static_cast<std::uint64_t>(std::popcount(event.motors));
    }
    if (late <= latest_) return;
    latest_ = late;
    controller_.lateness_peak_s = here(late, rise);
}

void Emitter::note_load_peak(std::int64_t tick) {
    controller_.load_peak = {std::ldexp(load_.peak(), -kFineBits), line_,
                             static_cast<double>(tick) / hz_};
}

Extreme Emitter::here(std::int64_t ticks, std::int64_t at) const {
    return {static_cast<double>(ticks) / hz_, line_, static_cast<double>(at) / hz_};
}

}  // namespace stepper_sim::controller
