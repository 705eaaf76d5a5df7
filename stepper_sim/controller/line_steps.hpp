/// Integer error accumulation along one straight move. Freestanding C++14, integers only: the same
/// file compiles for the host and for an 8-bit part. It knows no time; who calls next() when is
/// the controller's business (stepper_sim/controller/line.cpp).
/// Model:   the motor with most steps takes one at every event, the others share the events evenly
/// Formula: step j (from 1) of n falls on event ceil((j N - floor(N/2)) / n) of N
/// Symbols: N = events = most steps of any motor, n = steps of this motor
/// Valid:   next(): any N that Count holds, the rest where it holds N n; each step within one event of its even place N (j - 1/2)/n + 1/2
/// Source:  integer lines: J. E. Bresenham, IBM Systems Journal 4 (1965) 25 (from memory); closed form and bound derived here
/// Checked by: LineSteps.EveryStepFallsOnItsClosedFormEvent, Line.MinorStepsLieWithinOneMajorIntervalOfTheirEvenPlace
#pragma once

// NOLINTBEGIN(modernize-*): C++14, and avr-gcc has neither <cstdint> nor <array>
#include <stdint.h>

namespace stepper_sim {
namespace controller {

/// `Count`: unsigned integer that holds the steps of a move; `kMotors`: at most 16.
template <class Count, uint8_t kMotors>
class LineSteps {
  public:
    /// Begins a move. `steps`: steps of each motor; the largest of them is the number of events. Motors
    /// from `motors` on rest.
    void begin(const Count (&steps)[kMotors], uint8_t motors = kMotors) {
        events_ = 0;
        for (uint8_t m = 0; m < motors; ++m) {
            if (steps[m] > events_) events_ = steps[m];
        }
        active_ = 0;
        for (uint8_t m = 0; m < motors; ++m) {
            if (steps[m] == 0) continue;
            motors_[active_].steps = steps[m];
            motors_[active_].refill = static_cast<Count>(events_ - steps[m]);
            motors_[active_].room = static_cast<Count>(events_ - 1 - events_ / 2);
            motors_[active_].mask = static_cast<uint16_t>(uint16_t{1} << m);
            ++active_;
        }
    }

    Count events() const { return events_; }

    /// How many of a motor's `steps` come before event `event` (from 0). This and event_of() need a
    /// Count that holds events * steps.
    Count steps_before(Count event, Count steps) const {
        return static_cast<Count>((event * steps + events_ / 2) / events_);
    }
    /// The event (from 0) of step number `step` (from 1) of a motor that makes `steps`.
    Count event_of(Count step, Count steps) const {
        return static_cast<Count>((step * events_ - events_ / 2 + steps - 1) / steps - 1);
    }
    /// The events of the first and the last step, event_of(1, steps) and event_of(steps, steps), with one division and for any Count.
    void first_and_last_event_of(Count steps, Count& first, Count& last) const {
        const Count half = static_cast<Count>(events_ / 2);
        const Count whole = static_cast<Count>(half / steps);
        const bool more = half != whole * steps || events_ % 2 != 0;
        first = static_cast<Count>(whole - (more ? 0 : 1));
        last = static_cast<Count>(events_ - 1 - whole);
    }

    /// The motors that step at the next event, one bit each. Call it events() times.
    uint16_t next() {
        uint16_t stepping = 0;
        for (uint8_t i = 0; i < active_; ++i) {
            Motor& motor = motors_[i];
            if (motor.room < motor.steps) {
                motor.room = static_cast<Count>(motor.room + motor.refill);
                stepping = static_cast<uint16_t>(stepping | motor.mask);
            } else {
                motor.room = static_cast<Count>(motor.room - motor.steps);
            }
        }
        return stepping;
    }

  private:
    struct Motor {
        Count steps;   // n
        Count refill;  // N - n
        Count room;    // what may still be subtracted before a step falls due; always below N
        uint16_t mask;
    };
    Motor motors_[kMotors];
    Count events_ = 0;
    uint8_t active_ = 0;
};

}  // namespace controller
}  // namespace stepper_sim
// NOLINTEND(modernize-*)
