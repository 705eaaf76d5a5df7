/// What serving steps costs the processor, in fine ticks (1/65536 tick), from the cycles in the
/// controller's description. An interrupt that serves one event for `motors` motors takes
/// interrupt + event + motors * motor_cycles; further events that share the interrupt leave out
/// the first term.
#pragma once

#include <cstdint>

#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim {

inline constexpr int kFineBits = 16;

struct ProcessorCost {
    std::int64_t interrupt_fine = 0, event_fine = 0, motor_fine = 0;

    std::int64_t one_event(int motors) const { return event_fine + motors * motor_fine; }
    std::int64_t interrupt(int events, int motors) const {
        return interrupt_fine + events * one_event(motors);
    }
};

/// The ideal style and a controller without a clock cost nothing.
ProcessorCost processor_cost(const ControllerPart& controller);

/// Cycles of an interrupt that serves `events` events for `motors` motors.
std::int64_t interrupt_cycles(const ControllerPart& controller, int events, int motors);

/// A time as whole ticks, rounded up; at least `least`.
std::int64_t ticks_up(const planner::Time& time, std::int64_t tick_hz, std::int64_t least);

/// Shortest time from rise to rise of one step line: the pulse, then at least one tick low.
std::int64_t shortest_period_ticks(const ControllerPart& controller);

}  // namespace stepper_sim
