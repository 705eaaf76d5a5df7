/// What serving steps costs the processor, in fine ticks (1/65536 tick), from the cycles in the
/// controller's description.
/// Model:   one interrupt serves one or several events; each costs the same whichever motors step
/// Formula: interrupt of b events = I + b (E + k M) cycles; in fine ticks each of I, E, M is ceil(2^16 cycles tick_hz / clock_hz)
/// Symbols: I, E, M = interrupt, event and motor cycles, k = motors served, b = events
/// Valid:   no caches and no wait states: what small controllers have
/// Source:  none needed: a sum; the cycles' sources are in the controller's file
/// Checked by: Emitter.SteadyLoadIsCostTimesRate, Emitter.StepsThatShareAnInterruptFollowEachOtherAtTheCostOfOne,
///             SimulatedPart.LosesCompareMatchesWithinThreePercentOfThePredictedCeiling
#pragma once

#include <cstdint>

#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::controller {

inline constexpr int kFineBits = 16;

struct ProcessorCost {
    std::int64_t interrupt_fine = 0, event_fine = 0, motor_fine = 0;

    std::int64_t one_event(int motors) const { return event_fine + motors * motor_fine; }
    std::int64_t interrupt(int events, int motors) const {
        return interrupt_fine + events * one_event(motors);
    }
};

/// The ideal style and a controller without a clock cost nothing.
ProcessorCost processor_cost(const machine::ControllerPart& controller);

/// Cycles of an interrupt that serves `events` events for `motors` motors.
std::int64_t interrupt_cycles(const machine::ControllerPart& controller, int events, int motors);

/// A time as whole ticks, rounded up; at least `least`.
std::int64_t ticks_up(const planner::Time& time, std::int64_t tick_hz, std::int64_t least);

/// Shortest time from rise to rise of one step line: the pulse, then at least one tick low.
std::int64_t shortest_period_ticks(const machine::ControllerPart& controller);

}  // namespace stepper_sim::controller
