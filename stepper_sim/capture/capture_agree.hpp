/// How many pulses of a motor in a trace stand where a plan has some, at a clock that is supposed: for judging a place or a
/// channel. Pairing them one by one is capture_match.hpp's business.
/// Model:   a pulse is found where the planned one nearest to it is near
/// Formula: near: |seen - planned| <= max(interval/8, 2 resolutions), the interval at most 1.6 ms
/// Symbols: interval = between the planned pulses about it; resolution = of the trace's clock
/// Valid:   the clock's drift over what is compared is less than that
/// Source:  Guess: the numbers
/// Checked by: CaptureAgree.CountsPulsesInPlaceByDirectionAndWhatBothSidesHave
#pragma once

#include <cstdint>
#include <deque>
#include <span>

#include "stepper_sim/capture/capture_clock.hpp"
#include "stepper_sim/capture/capture_motor.hpp"

namespace stepper_sim::capture {

struct PlannedPulse {
    std::int64_t time_ps = 0;
    std::uint64_t line = 0;  // of the program
    std::int8_t direction = 1;
};

/// Planned pulses up to a time of the trace.
std::size_t count_until(const std::deque<PlannedPulse>& plan, std::int64_t trace_ps,
                        const CaptureClock& clock);

/// Whether a planned pulse stands where `pulse` is; `i` is the last planned one before it, found by
/// walking on. Returns the product of the two directions, 0 where there is none.
int found_at(const std::deque<PlannedPulse>& plan, std::size_t& i, const CapturedPulse& pulse,
             const CaptureClock& clock, std::int64_t resolution_ps);

struct Agreement {
    std::size_t same = 0, opposite = 0;  // found, by direction
    std::size_t asked = 0, planned = 0;  // pulses of the trace and of the plan

    /// Of the side that has more.
    double share() const;
};

/// Of the trace's pulses, and of the planned ones from `begin_ps` to `end_ps` of the trace.
Agreement agreement(const std::deque<PlannedPulse>& plan, std::span<const CapturedPulse> seen,
                    const CaptureClock& clock, std::int64_t begin_ps, std::int64_t end_ps,
                    std::int64_t resolution_ps);

}  // namespace stepper_sim::capture
