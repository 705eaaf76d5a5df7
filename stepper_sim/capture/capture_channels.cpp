#include "stepper_sim/capture/capture_channels.hpp"

#include <algorithm>
#include <array>
#include <deque>
#include <memory>
#include <optional>

#include "stepper_sim/capture/capture_align.hpp"
#include "stepper_sim/capture/capture_plan.hpp"

namespace stepper_sim::capture {
namespace {

// Guesses.
constexpr double kCarries = 0.9;
constexpr std::size_t kLeastPulses = 24;
constexpr std::size_t kMostReadings = 8;
constexpr std::size_t kMostKept = 65536;                   // planned pulses of a motor
constexpr std::int64_t kAbout_ps = 10'000'000'000;         // kept before and after the window
constexpr std::int64_t kSameClock_ps = kMostTolerance_ps;  // offsets that are one place

/// Seeks one line's rises in every motor's steps, whatever their direction.
class ReferenceSink final : public PlanSink {
  public:
    ReferenceSink(const machine::Machine& machine, const std::vector<CapturedPulse>& pulses,
                  std::int64_t resolution_ps)
        : PlanSink(machine), heads_(machine.axes.size()) {
        for (std::size_t m = 0; m < heads_.size(); ++m) {
            heads_[m][m] = pulses;
            aligners_.push_back(std::make_unique<CaptureAligner>(
                heads_[m], std::vector<std::size_t>{m}, resolution_ps));
        }
    }
    bool enough() const override {
        return std::all_of(aligners_.begin(), aligners_.end(),
                           [](const auto& aligner) { return aligner->done(); });
    }
    std::vector<CaptureClock> clocks() {
        std::vector<CaptureClock> found;
        for (const auto& aligner : aligners_) {
            aligner->finish();
            const auto clock = aligner->clock();
            const bool known =
                clock && std::any_of(found.begin(), found.end(), [&](const auto& one) {
                    return std::abs(one.to_trace(0) - clock->to_trace(0)) < kSameClock_ps;
                });
            if (clock && !known) found.push_back(*clock);
        }
        return found;
    }

  protected:
    void pulse(std::size_t motor, const PlannedPulse& planned) override {
        aligners_[motor]->plan(motor, {planned.time_ps, planned.line, 1});
    }

  private:
    std::vector<CaptureHead> heads_;
    std::vector<std::unique_ptr<CaptureAligner>> aligners_;
};

struct Window {
    CaptureClock clock;
    std::int64_t begin_ps = 0, end_ps = 0;
    std::array<std::deque<PlannedPulse>, planner::kMaxAxes> plan;
};

/// Keeps what is planned about a window of the trace.
class WindowSink final : public PlanSink {
  public:
    WindowSink(const machine::Machine& machine, Window& window)
        : PlanSink(machine), window_(window) {}
    bool enough() const override { return over_; }

  protected:
    void pulse(std::size_t motor, const PlannedPulse& planned) override {
        const std::int64_t at_ps = window_.clock.to_trace(planned.time_ps);
        over_ = over_ || at_ps > window_.end_ps + kAbout_ps;
        std::deque<PlannedPulse>& kept = window_.plan[motor];
        if (at_ps < window_.begin_ps - kAbout_ps || over_ || kept.size() >= kMostKept) return;
        kept.push_back(planned);
    }

  private:
    Window& window_;
    bool over_ = false;
};

/// One clock's search: which lines carry the steps of which motor.
class Readings {
  public:
    Readings(const TraceHead& head, const Window& window, std::size_t motors)
        : head_(head), window_(window), unrecorded_(motors - head.motors.size()) {
        for (const HeadLine& line : head.lines)
            rises_.push_back(in_window(rises_of(line)));
        for (std::size_t slot = 0; slot < motors; ++slot) {
            if (agreed(slot, {}).planned < kLeastPulses) continue;
            moving_.push_back(slot);
            std::vector<bool>& row = carries_.emplace_back();
            for (const std::vector<CapturedPulse>& rises : rises_)
                row.push_back(agreed(slot, rises).share() >= kCarries);
        }
    }
    std::vector<Channels> all() {
        choose(0, 0);
        return std::move(found_);
    }

  private:
    std::vector<CapturedPulse> in_window(std::vector<CapturedPulse> pulses) const {
        std::erase_if(pulses,
                      [&](const CapturedPulse& pulse) { return pulse.time_ps > window_.end_ps; });
        return pulses;
    }
    Agreement agreed(std::size_t slot, std::span<const CapturedPulse> seen) const {
        return agreement(window_.plan[slot], seen, window_.clock, window_.begin_ps, window_.end_ps,
                         head_.resolution_ps);
    }
    bool is_step(std::size_t line) const {
        return std::any_of(chosen_.begin(), chosen_.end(),
                           [&](const MotorChannels& one) { return one.step == line; });
    }

    void choose(std::size_t at, std::size_t left_out) {
        if (found_.size() >= kMostReadings) return;
        if (at == moving_.size()) {
            complete();
            return;
        }
        const std::size_t slot = moving_[at];
        for (std::size_t c = 0; c < rises_.size(); ++c) {
            if (is_step(c) || !carries_[at][c]) continue;
            chosen_.push_back({slot, c, 0});
            choose(at + 1, left_out);
            chosen_.pop_back();
        }
        if (left_out < unrecorded_) choose(at + 1, left_out + 1);
    }

    /// Same directions as planned, of all that were found: 1 and 0 both make a direction line.
    double straight(const MotorChannels& motor, std::size_t line) const {
        const auto pulses = in_window(pulses_of(head_.lines[motor.step], head_.lines[line]));
        const Agreement with = agreed(motor.slot, pulses);
        return static_cast<double>(with.same) /
               static_cast<double>(std::max<std::size_t>(with.same + with.opposite, 1));
    }
    std::optional<std::size_t> direction_of(const MotorChannels& motor) const {
        const std::size_t partner = motor.step ^ 1U;
        if (!is_step(partner)) {
            const double share = straight(motor, partner);
            if (std::max(share, 1.0 - share) >= kCarries) return partner;
        }
        std::vector<std::size_t> same, opposite;
        for (std::size_t line = 0; line < head_.lines.size(); ++line) {
            if (is_step(line) || line == partner) continue;
            const double share = straight(motor, line);
            if (share >= kCarries) same.push_back(line);
            if (1.0 - share >= kCarries) opposite.push_back(line);
        }
        if (same.empty()) same = opposite;
        return same.size() == 1 ? std::optional(same.front()) : std::nullopt;
    }
    void complete() {
        Channels reading = chosen_;
        std::vector<bool> used(head_.lines.size());
        for (MotorChannels& motor : reading) {
            const auto direction = direction_of(motor);
            if (!direction || used[*direction]) return;
            motor.direction = *direction;
            used[motor.step] = used[*direction] = true;
        }
        // What moves in the trace must be some motor's.
        for (std::size_t c = 0; c < used.size(); ++c)
            if (!used[c] && rises_[c].size() >= kLeastPulses) return;
        if (!reading.empty()) found_.push_back(std::move(reading));
    }

    const TraceHead& head_;
    const Window& window_;
    std::size_t unrecorded_;
    std::vector<std::size_t> moving_;
    std::vector<std::vector<bool>> carries_;  // by place in moving_ and by line
    std::vector<std::vector<CapturedPulse>> rises_;
    Channels chosen_;
    std::vector<Channels> found_;
};

std::size_t busiest(const TraceHead& head) {
    std::size_t most = 0;
    for (std::size_t c = 1; c < head.lines.size(); ++c)
        if (head.lines[c].rises > head.lines[most].rises) most = c;
    return most;
}

}  // namespace

std::vector<Channels> fitting_channels(const machine::Machine& machine,
                                       const run::ProgramSource& program, const TraceHead& head) {
    std::vector<CapturedPulse> pulses = rises_of(head.lines[busiest(head)]);
    if (pulses.size() < kLeastPulses) return {};
    pulses.resize(std::min(pulses.size(), kMostHead));
    ReferenceSink reference(machine, pulses, head.resolution_ps);
    if (!run_plan(machine, program, reference).empty()) return {};
    std::vector<Channels> found;
    for (const CaptureClock& clock : reference.clocks()) {
        Window window{clock, head.begin_ps, pulses.back().time_ps, {}};
        WindowSink sink(machine, window);
        if (!run_plan(machine, program, sink).empty()) return {};
        for (Channels& reading : Readings(head, window, machine.axes.size()).all())
            if (std::find(found.begin(), found.end(), reading) == found.end())
                found.push_back(std::move(reading));
    }
    return found;
}

bool as_named(const Channels& channels, const TraceHead& head) {
    return std::all_of(channels.begin(), channels.end(), [&](const MotorChannels& motor) {
        return motor.step / 2 < head.motors.size() && motor.step % 2 == 0 &&
               motor.direction == motor.step + 1 && head.motors[motor.step / 2].slot == motor.slot;
    });
}

std::vector<MotorLines> lines_under(const Channels& channels, const TraceHead& head,
                                    machine::Machine& machine) {
    std::vector<bool> used(head.lines.size());
    std::array<bool, planner::kMaxAxes> told{};
    std::vector<MotorLines> motors;
    const auto take = [&](const MotorChannels& motor) {
        const HeadLine &step = head.lines[motor.step], &direction = head.lines[motor.direction];
        used[motor.step] = used[motor.direction] = told[motor.slot] = true;
        machine.axes[motor.slot].step_line.inverted = step.inverted;
        machine.axes[motor.slot].direction_line.inverted = direction.inverted;
        motors.push_back({motor.slot, step.name, direction.name});
    };
    for (const MotorChannels& motor : channels)
        take(motor);
    for (std::size_t i = 0; i < head.motors.size(); ++i)
        if (!told[head.motors[i].slot] && !used[2 * i] && !used[2 * i + 1])
            take({head.motors[i].slot, 2 * i, 2 * i + 1});
    // What is left rests, and goes to who is left.
    for (const MotorLines& motor : head.motors) {
        std::vector<std::size_t> left;
        for (std::size_t line = 0; line < used.size(); ++line)
            if (!used[line]) left.push_back(line);
        if (!told[motor.slot] && left.size() >= 2) take({motor.slot, left[0], left[1]});
    }
    std::sort(motors.begin(), motors.end(),
              [](const MotorLines& a, const MotorLines& b) { return a.slot < b.slot; });
    return motors;
}

}  // namespace stepper_sim::capture
