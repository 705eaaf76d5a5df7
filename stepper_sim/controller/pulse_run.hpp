/// One program's pulses from one machine's controller: motor moves in, timing and, on request,
/// edges out. Bounded memory, in one pass, whatever the length of the program or of a move. It
/// judges nothing: stepper_sim/check compares the timing with the limits. How steps are placed:
/// style.hpp; what delays them: emitter.hpp; closed-form ceilings of the same model: ceiling.hpp.
/// Model:   a motor's commanded step rate is highest where the path is fastest
/// Formula: peak rate = v |q_end - q_start| / length * steps per metre
/// Symbols: v = highest path speed of the move [m/s], q = position of the motor [m], length = of the path [m]
/// Valid:   free of what styles and lateness do to single intervals: those are in min_interval_s
/// Source:  none needed: the chain rule
/// Checked by: PulseRun.SteadySpeedGivesItsIntervalEverywhere
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "stepper_sim/controller/emitter.hpp"
#include "stepper_sim/controller/style.hpp"
#include "stepper_sim/controller/timing.hpp"

namespace stepper_sim::controller {

class PulseRun {
  public:
    /// `sink`: receives every edge, if given. The position begins at the start of the first move
    /// pushed, so a run may also begin in the middle of a program.
    explicit PulseRun(const machine::Machine& machine, EdgeSink* sink = nullptr);

    /// The next moves of the program, in order, each beginning where the one before ended.
    void push(std::span<const planner::MotorMove> moves);
    /// After the last move. Net steps of each motor are then whole_steps(its end) -
    /// whole_steps(its start).
    void finish();

    /// Sends the edges to come to `sink` instead, or to nobody (null).
    void edges_to(EdgeSink* sink) { emitter_.edges_to(sink); }

    /// Ticks per second of every edge: the controller's, or kIdealTick_hz.
    std::int64_t tick_hz() const { return style_->tick_hz(); }
    int motor_count() const { return scale_.count; }
    const MotorTiming& motor(int slot) const {
        return emitter_.motor(static_cast<std::size_t>(slot));
    }
    const ControllerTiming& controller() const { return emitter_.controller(); }

  private:
    void run_move(const MoveSteps& steps, std::uint64_t line);
    void note_peak_rates(const planner::MotorMove& move);

    MotorScale scale_;
    std::unique_ptr<Style> style_;
    Emitter emitter_;
    std::vector<StepEvent> events_;
    std::uint64_t last_line_ = 0;
};

}  // namespace stepper_sim::controller
