/// How a controller turns moves into step events: one small interface, one file and one table row
/// per style (style.cpp). A style plans WHEN steps are due; that the step lines' own times and
/// the processor may delay them is emitter.hpp's business.
/// Model:   ideal, scheduled  every motor's position rounded on its own (continuous.hpp)
///          line              the busiest motor's steps are the events of a move, the others share them (line_steps.hpp);
///                            moves end on whole steps
///          fixed_rate        steps fall due as in `line` for each motor alone and leave at the next period, one a period;
///                            moves end on whole steps
/// Formula: line, fixed_rate: step k (from 0) of N is due at distance (k + 1/2) length / N; fixed_rate: 2^-(bits + 1) of a step
///          sooner, since its accumulator rounds
/// Symbols: N = steps of the busiest motor (line) or of this one (fixed_rate), bits = accumulator_bits
/// Valid:   a move's whole steps are the difference of its ends' whole_steps(): rounding never adds up
/// Source:  derived here: a position is rounded to the nearest whole step
/// Checked by: PulseRun.EveryStyleEndsOnTheRoundedEndPosition, FixedRate.ClosedFormStepsAreTheAccumulatorsSteps
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <span>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/controller/step_clock.hpp"
#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::controller {

/// Steps that fall due together.
struct StepEvent {
    std::int64_t tick = 0;
    std::uint16_t motors = 0;  // one bit per motor slot
    std::uint16_t batch = 0;  // events served by the interrupt that begins here; 0: it began before
    std::uint32_t behind = 0;  // ticks after the steps fell due
};

/// What all motors do in one move.
struct MoveSteps {
    std::array<std::int64_t, planner::kMaxAxes> steps{};  // signed
    int moving = 0;                                       // motors with steps
    unsigned motors = 0;                                  // which, one bit each

    void set(std::size_t motor, std::int64_t signed_steps) {
        const unsigned moves = signed_steps != 0 ? 1 : 0;
        steps[motor] = signed_steps;
        moving += static_cast<int>(moves);
        motors |= moves << motor;
    }
};

/// What can be told of the events left of a move without making them.
struct RestOfMove {
    std::int64_t next_tick = 0, last_tick = 0;  // of the next event and the last
    std::int64_t spacing = 0;                   // ticks between any two of them, at least; > 0
    unsigned stepping = 0;                      // motors with steps left, one bit each
    std::array<std::int64_t, planner::kMaxAxes> first{}, last{};  // ticks of their first and last
    // The events are at the middles of shares `next` to `shares` of the move.
    const StepClock* clock = nullptr;
    double share_m = 0.0;
    std::uint64_t next = 0, shares = 0;
};

/// Steps per metre of each motor slot, and how many there are.
struct MotorScale {
    int count = 0;
    planner::AxisArray steps_per_m{};
};
MotorScale motor_scale(const machine::Machine& machine);

/// The whole-step position of a motor: what every style ends a program on.
inline std::int64_t whole_steps(double position_m, double steps_per_m) {
    // As std::llround, without its call: the remainder is exact.
    const double steps = position_m * steps_per_m;
    const auto whole = static_cast<std::int64_t>(steps);
    const double rest = steps - static_cast<double>(whole);
    return whole + static_cast<int>(rest >= 0.5) - static_cast<int>(rest <= -0.5);
}

class Style {
  public:
    virtual ~Style() = default;
    /// Ticks per second of the events.
    virtual std::int64_t tick_hz() const = 0;
    /// Takes the next move and tells the steps it makes.
    virtual const MoveSteps& begin(const planner::MotorMove& move) = 0;
    /// The next events of the move, in time order; returns how many of `out` were filled, 0 when
    /// the move is done.
    virtual std::size_t events(std::span<StepEvent> out) = 0;
    /// What is known of the events left; null: nothing. Who needs no more than that need not ask
    /// for the events.
    virtual const RestOfMove* rest() { return nullptr; }
    /// After the last move: steps still missing from the rounded end position; events() then
    /// gives them.
    virtual const MoveSteps& finish() = 0;
};

/// Times in ticks, from the controller's description; a controller without a tick gets that of
/// the ideal style.
inline constexpr std::int64_t kIdealTick_hz =
    1'000'000'000'000;  // 1 ps: far below anything a pin can do
std::int64_t tick_hz_of(const machine::ControllerPart& controller);

std::unique_ptr<Style> make_style(const machine::Machine& machine);

}  // namespace stepper_sim::controller
