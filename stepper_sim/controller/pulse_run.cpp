#include "stepper_sim/controller/pulse_run.hpp"

#include <algorithm>
#include <cmath>

#include "planner/profile/motion.hpp"

namespace stepper_sim::controller {
namespace {

constexpr std::size_t kEventsAtOnce = 1024;  // 24 KiB: stays in the first-level cache
constexpr std::size_t kLater = 16;

}  // namespace

PulseRun::PulseRun(const machine::Machine& machine, EdgeSink* sink)
    : scale_(motor_scale(machine)),
      style_(make_style(machine)),
      emitter_(machine.controller, sink),
      events_(kEventsAtOnce) {}

void PulseRun::push(std::span<const planner::MotorMove> moves) {
    for (const planner::MotorMove& move : moves) {
        note_peak_rates(move);
        last_line_ = move.line;
        run_move(style_->begin(move), move.line);
    }
}

void PulseRun::finish() {
    run_move(style_->finish(), last_line_);
    emitter_.finish();
}

void PulseRun::run_move(const MoveSteps& steps, std::uint64_t line) {
    if (steps.moving == 0) return;
    emitter_.begin(steps, line);
    const std::span<StepEvent> buffer(events_);
    // The turn or the delay at a move's start is often over after one event.
    for (std::size_t at_once = 1;; at_once = std::min(kLater * at_once, kEventsAtOnce)) {
        if (emitter_.undisturbed()) {
            const RestOfMove* rest = style_->rest();
            if (rest != nullptr && emitter_.nothing_new(*rest)) {
                emitter_.pass_over(*rest);
                return;
            }
        }
        const std::size_t count = style_->events(buffer.first(at_once));
        if (count == 0) return;
        emitter_.take(buffer.first(count));
    }
}

void PulseRun::note_peak_rates(const planner::MotorMove& move) {
    double peak_m_s = 0.0, peak_at_s = 0.0, begin_s = 0.0;
    for (const planner::Phase& phase : planner::phases_of(move.profile)) {
        const double start_m_s = planner::start_speed(phase), end_m_s = planner::end_speed(phase);
        if (start_m_s > peak_m_s) {
            peak_m_s = start_m_s;
            peak_at_s = begin_s;
        }
        begin_s += phase.duration_s;
        if (end_m_s > peak_m_s) {
            peak_m_s = end_m_s;
            peak_at_s = begin_s;
        }
    }
    if (move.length_m <= 0.0) return;
    for (std::size_t m = 0; m < static_cast<std::size_t>(scale_.count); ++m) {
        const double travel_m = std::abs(move.motor_end_m[m] - move.motor_start_m[m]);
        const double rate_hz = peak_m_s / move.length_m * travel_m * scale_.steps_per_m[m];
        Extreme& peak = emitter_.motor(m).peak_step_rate_hz;
        if (rate_hz > peak.value) peak = {rate_hz, move.line, move.start.seconds() + peak_at_s};
    }
}

}  // namespace stepper_sim::controller
