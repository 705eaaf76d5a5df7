/// From step events to edges: the rules of the step and direction lines, the processor's time,
/// and the account of both. What a rule delays, delays what follows: no step is ever dropped or added.
/// Model:   in this order: a step leaves no earlier than it is due; the processor serves one interrupt after the other; a step
///          line is low for at least a tick between pulses; a direction line changes the set-up time before the first step that
///          needs it, but not within the hold time after that motor's last rise
/// Formula: late_k = max(0, late_(k-1) + cost_(k-1) - spacing_k)
/// Symbols: late = delay of an interrupt, cost = its work (processor_cost.hpp), spacing = from the one before as due; fine ticks
/// Valid:   interrupts wait for each other, and none is lost; nothing else takes the processor
/// Source:  waiting times in a queue with one server: D. V. Lindley, Proc. Cambridge Phil. Soc. 48 (1952) 277 (from memory)
/// Checked by: Emitter.LatenessFollowsTheRecursion, Emitter.ATurnWaitsForHoldAndSetUp, PulseRun.EdgesAreInOrderAndKeepTheRulesOfTheLines
#pragma once

#include <array>
#include <cstdint>
#include <span>

#include "stepper_sim/controller/edge_order.hpp"
#include "stepper_sim/controller/load_window.hpp"
#include "stepper_sim/controller/processor_cost.hpp"
#include "stepper_sim/controller/style.hpp"
#include "stepper_sim/controller/timing.hpp"

namespace stepper_sim::controller {

class Emitter {
  public:
    Emitter(const machine::ControllerPart& controller, EdgeSink* sink);

    /// What the events to come belong to.
    void begin(const MoveSteps& steps, std::uint64_t line);
    void take(std::span<const StepEvent> events);
    /// Whether nothing is late, delayed, to be turned or handed out.
    bool undisturbed() const;
    /// Whether the rest of a move then could change nothing but counts and last ticks: no interval the
    /// shortest of its motor, no load a peak.
    bool nothing_new(const RestOfMove& rest) const;
    /// Takes the rest of such a move.
    void pass_over(const RestOfMove& rest);
    /// Sends the edges still held back.
    void finish() { order_.finish(); }
    void edges_to(EdgeSink* sink);

    const MotorTiming& motor(std::size_t slot) const { return motors_[slot].timing; }
    MotorTiming& motor(std::size_t slot) { return motors_[slot].timing; }
    const ControllerTiming& controller() const { return controller_; }

  private:
    static constexpr std::int64_t kLongAgo = INT64_MIN / 4;
    static constexpr std::int64_t kNever = INT64_MAX / 8;  // shorter than any time since kLongAgo

    struct Motor {
        std::int64_t last_rise = kLongAgo;
        std::int64_t turned = kLongAgo;  // since its last rise
        std::int64_t shortest_interval = kNever, shortest_hold = kNever, shortest_setup = kNever;
        std::int8_t direction = 1, wanted = 1;
        MotorTiming timing;
    };

    void serve(const StepEvent& event);
    bool calm() const { return one_by_one_ && undisturbed(); }
    std::int64_t steps_apart(std::size_t m, std::int64_t spacing) const;
    std::int64_t room(std::int64_t cost) const;
    bool serve_on_time(std::span<const StepEvent> events);
    void step_on_time(std::size_t m, std::span<const StepEvent> events, std::int64_t spacing);
    void note_load_peak(std::int64_t tick);
    std::int64_t begin_interrupt(const StepEvent& event);
    std::int64_t allowed(unsigned stepping, unsigned turning, std::int64_t rise) const;
    void turn(std::size_t m, std::int64_t tick);
    void step(std::size_t m, std::int64_t tick);
    void count_lateness(const StepEvent& event, std::int64_t rise);
    Extreme here(std::int64_t ticks, std::int64_t at) const;

    double hz_;
    std::int64_t pulse_, setup_, hold_;  // ticks
    ProcessorCost cost_;
    bool serves_all_;  // an interrupt looks at every moving motor, stepping or not
    std::int64_t period_ =
        0;  // of a periodic interrupt, fine ticks; 0: interrupts come with the events
    double base_rate_hz_ = 0.0;

    bool turns_together_;  // all motors of a move turn before its first step, not each its own

    bool one_by_one_;  // every event has its own interrupt, and they come in the order of a line

    int moving_ = 0;
    unsigned motors_moving_ = 0;                           // which, one bit each
    std::array<std::int64_t, planner::kMaxAxes> steps_{};  // of a moving motor
    std::int64_t most_steps_ = 0;                          // of any
    unsigned to_turn_ = 0;  // motors whose direction line does not show what this move needs
    std::uint64_t line_ = 0;
    std::int64_t interrupt_due_ = kLongAgo, interrupt_cost_ = 0, late_fine_ = 0;
    std::int64_t last_rise_ = kLongAgo;  // of any motor
    std::int64_t batch_next_ = 0;        // where the next step of a shared interrupt may leave
    std::int64_t tolerated_ = 0;         // lateness that is not counted, ticks
    std::int64_t latest_ = 0;            // largest lateness so far

    std::array<Motor, planner::kMaxAxes> motors_{};
    ControllerTiming controller_;
    LoadWindow load_;
    EdgeOrder order_;
};

}  // namespace stepper_sim::controller
