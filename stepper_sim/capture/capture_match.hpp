/// Pairs the pulses of one motor in a trace with those of the plan, in one pass and bounded memory. So one lost pulse is one missing
/// pulse, and pulses held up and then caught up are late, not missing and extra.
/// Model:   where a pulse is not in place, both sequences are searched, up to 50 ms ahead, for the first place from which the next
///          12 pulses agree again; what lies between is late as far as it pairs up, and missing or extra beyond that
/// Formula: in place: |seen - planned| <= min(interval/4, 0.2 ms), at least 1.5 resolutions; lost: 3 missing or extra - matched > 3000
/// Symbols: interval = the shorter of the planned ones beside it; resolution = of the trace's clock
/// Valid:   the trace's clock is known (capture_clock.hpp) to less than the tolerance
/// Source:  Guess: all of these numbers
/// Checked by: PulseMatcher.AQuarterOfTheIntervalIsInPlaceAndMoreIsLate, PulseMatcher.AFifthOfAMillisecondIsTheMostHoweverSlowTheMotor,
///             PulseMatcher.AThousandDifferencesAreAnotherProgramUnlessMatchesMakeUpForThem
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "stepper_sim/capture/capture_agree.hpp"
#include "stepper_sim/capture/capture_clock.hpp"
#include "stepper_sim/capture/capture_motor.hpp"

namespace stepper_sim::capture {

/// Pulses of one kind of difference; the first ones by place.
struct Differences {
    struct Place {
        std::int64_t trace_ps = 0;  // where it is, or should be
        std::uint64_t line = 0;     // of the program; 0 for extra pulses
    };
    static constexpr std::size_t kMostPlaces = 100;

    std::int64_t count = 0;
    std::vector<Place> places;

    void add(const Place& place) {
        if (places.size() < kMostPlaces) places.push_back(place);
        ++count;
    }
};

struct MotorMatch {
    std::int64_t planned = 0, planned_net = 0;  // in the part of the plan that the trace covers
    std::int64_t matched = 0;
    Differences missing, extra, late, wrong_direction;
    std::int64_t latest_ps = 0;  // largest lateness of late pulses; early ones count by amount
    Differences::Place latest;
    std::int64_t before = 0, before_net = 0;  // planned pulses before the trace begins
    std::int64_t after = 0;                   // and after it ends
    DurationHistogram deviation;              // of matched pulses from their place
    std::optional<Differences::Place> lost;   // from here on the trace does not follow the plan
};

class PulseMatcher {
  public:
    PulseMatcher(CaptureClock& clock, std::int64_t resolution_ps)
        : clock_(&clock), resolution_ps_(resolution_ps) {}

    /// The trace shows nothing before this time of its clock.
    void begin_at(std::int64_t trace_ps) { begin_ps_ = trace_ps; }
    void plan(const PlannedPulse& pulse);
    void seen(const CapturedPulse& pulse) {
        if (!result_.lost) seen_.push_back(pulse);
    }
    /// How far each side has been handed in, in the trace's time; kOver: to its end.
    struct Reach {
        std::int64_t plan_ps = kOver, seen_ps = kOver;
    };
    static constexpr std::int64_t kOver = INT64_MAX;

    /// Pairs what can be paired, and counts what the other side has left behind as missing or extra.
    /// `end_ps`: where the trace ends.
    void advance(const Reach& reach, std::int64_t end_ps);

    const MotorMatch& result() const { return result_; }
    /// Pulses that wait for their partners.
    std::size_t waiting() const { return plan_.size() + seen_.size(); }

  private:
    struct Pair {
        std::size_t plan, seen;
    };
    enum class Search : std::uint8_t { found, none, wait };

    std::int64_t tolerance_ps(std::size_t i) const;
    std::int64_t lateness_ps(std::size_t i, std::size_t j) const;
    bool fits(std::size_t i, std::size_t j) const;
    Search resume(Pair& at, const Reach& reach) const;
    Search runs_from(Pair at, const Reach& reach) const;
    void settle(Pair at);
    void pair_off(bool late);
    void drop_plan(std::int64_t end_ps);
    void drop_seen();
    void note_trouble(const Differences::Place& place);
    void pop_plan();

    CaptureClock* clock_;
    std::int64_t resolution_ps_;
    std::int64_t begin_ps_ = INT64_MIN;
    std::int64_t last_plan_ps_ = INT64_MIN;  // of the planned pulse before the first one kept
    std::deque<PlannedPulse> plan_;
    std::deque<CapturedPulse> seen_;
    std::int64_t trouble_ = 0;
    MotorMatch result_;
};

}  // namespace stepper_sim::capture
