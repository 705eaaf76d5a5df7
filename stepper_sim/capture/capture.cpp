#include "stepper_sim/capture/capture.hpp"

#include <algorithm>
#include <cmath>

#include "stepper_sim/capture/capture_align.hpp"
#include "stepper_sim/capture/capture_feed.hpp"
#include "stepper_sim/capture/trace_lines.hpp"
#include "stepper_sim/controller/pulse_run.hpp"

namespace stepper_sim::capture {
namespace {

constexpr std::int64_t kPicosecond_hz = 1'000'000'000'000;

/// The pulses of the plan, in the trace's unit of time.
class PlanSink : public controller::EdgeSink {
  public:
    explicit PlanSink(const machine::Machine& machine)
        : clock_(controller::tick_hz_of(machine.controller), kPicosecond_hz) {}
    void take(std::span<const controller::Edge> edges) final {
        for (const controller::Edge& edge : edges)
            if (edge.kind == controller::EdgeKind::step_rise)
                pulse(edge.motor, {clock_.units(edge.tick), edge.line, edge.direction});
        batch_done();
    }
    /// The plan need not go on.
    virtual bool enough() const = 0;

  protected:
    virtual void pulse(std::size_t motor, const PlannedPulse& planned) = 0;
    virtual void batch_done() {}

  private:
    UnitClock clock_;
};

std::vector<planner::Diagnostic> run_plan(const machine::Machine& machine,
                                          const CaptureOptions& options, PlanSink& sink) {
    controller::PulseRun pulses(machine, &sink);
    const auto planned =
        run::plan_file(machine, *options.program, [&](std::span<const planner::MotorMove> moves) {
            for (const planner::MotorMove& move : moves) {
                if (sink.enough()) return false;
                pulses.push({&move, 1});
            }
            return !sink.enough();
        });
    if (!planned) return planned.diagnostics();
    if (!sink.enough()) pulses.finish();
    return {};
}

class AlignSink final : public PlanSink {
  public:
    AlignSink(const machine::Machine& machine, CaptureAligner& aligner)
        : PlanSink(machine), aligner_(aligner) {}
    bool enough() const override { return aligner_.done(); }

  protected:
    void pulse(std::size_t motor, const PlannedPulse& planned) override {
        aligner_.plan(motor, planned);
    }

  private:
    CaptureAligner& aligner_;
};

/// Reads the trace alongside the plan.
class MatchSink final : public PlanSink {
  public:
    MatchSink(const machine::Machine& machine, CaptureFeed& feed, const run::ProgressCall& progress,
              CaptureClock clock, std::int64_t resolution_ps)
        : PlanSink(machine), feed_(feed), progress_(progress), clock_(clock) {
        by_slot_.fill(kNone);
        for (const MotorLines& motor : feed.motors()) {
            by_slot_[motor.slot] = matchers_.size();
            matchers_.emplace_back(clock_, resolution_ps);
            matchers_.back().begin_at(feed.first_edge_ps());
        }
    }
    MatchSink(const MatchSink&) = delete;
    MatchSink& operator=(const MatchSink&) = delete;

    bool enough() const override { return false; }
    void hand_over() {
        for (std::size_t slot = 0; slot < by_slot_.size(); ++slot) {
            for (const CapturedPulse& pulse : feed_.pulses[slot])
                if (by_slot_[slot] != kNone) matchers_[by_slot_[slot]].seen(pulse);
            feed_.pulses[slot].clear();
        }
    }
    void finish() {
        while (more()) {
            hand_over();
            advance(true);
        }
        hand_over();
        advance(true);
    }
    const MotorMatch& result(std::size_t i) const { return matchers_[i].result(); }
    const CaptureClock& clock() const { return clock_; }

  protected:
    void pulse(std::size_t motor, const PlannedPulse& planned) override {
        last_ps_ = planned.time_ps;
        if (by_slot_[motor] != kNone) matchers_[by_slot_[motor]].plan(planned);
    }
    void batch_done() override {
        while (feed_.time_ps() <= clock_.to_trace(last_ps_) && more())
            hand_over();
        hand_over();
        advance(false);
    }

  private:
    static constexpr std::size_t kNone = SIZE_MAX;

    bool more() {
        const bool going_on = feed_.read();
        if (progress_) progress_(0.0);
        return going_on;
    }
    void advance(bool plan_over) {
        const PulseMatcher::Reach reach{plan_over ? PulseMatcher::kOver : clock_.to_trace(last_ps_),
                                        feed_.over() ? PulseMatcher::kOver : feed_.time_ps()};
        for (PulseMatcher& matcher : matchers_)
            matcher.advance(reach, feed_.end_ps());
    }

    CaptureFeed& feed_;
    const run::ProgressCall& progress_;
    CaptureClock clock_;
    std::array<std::size_t, planner::kMaxAxes> by_slot_{};
    std::vector<PulseMatcher> matchers_;
    std::int64_t last_ps_ = 0;
};

std::size_t count_of(const CaptureHead& head) {
    std::size_t count = 0;
    for (const auto& pulses : head)
        count += pulses.size();
    return count;
}

std::vector<planner::Diagnostic> compare(const machine::Machine& machine,
                                         const CaptureOptions& options, CaptureFeed& feed,
                                         const run::ProgressCall& progress,
                                         std::int64_t resolution_ps, CaptureReport& report) {
    report.compared = true;
    report.program_file = options.program->string();
    while (count_of(feed.pulses) < kMostHead && feed.read()) {
        if (progress) progress(0.0);
    }
    if (count_of(feed.pulses) == 0) return {};
    std::optional<CaptureClock> clock;
    {
        std::vector<std::size_t> captured;
        for (const MotorLines& motor : feed.motors())
            captured.push_back(motor.slot);
        CaptureAligner aligner(feed.pulses, std::move(captured), resolution_ps);
        AlignSink align(machine, aligner);
        auto wrong = run_plan(machine, options, align);
        if (!wrong.empty()) return wrong;
        aligner.finish();
        clock = aligner.clock();
    }
    if (!clock) return {};
    report.aligned = true;
    MatchSink match(machine, feed, progress, *clock, resolution_ps);
    match.hand_over();
    auto wrong = run_plan(machine, options, match);
    if (!wrong.empty()) return wrong;
    match.finish();
    for (std::size_t i = 0; i < feed.motors().size(); ++i)
        report.motors[i].match = match.result(i);
    report.program_at_begin_s =
        static_cast<double>(feed.first_edge_ps()) / kPicoseconds_per_s - clock->offset_s();
    report.drift = match.clock().drift();
    report.drift_known = match.clock().drift_known();
    return {};
}

void describe(const machine::Machine& machine, const CaptureFeed& feed, CaptureReport& report) {
    report.machine_name = machine.name;
    report.machine_file = machine.file;
    report.shared_motors = planner::shares_motors(machine.kinematics, machine.program.axes);
    std::string captured;
    for (const MotorLines& lines : feed.motors()) {
        const machine::Axis& axis = machine.axes[lines.slot];
        captured += axis.letter;
        CapturedMotor motor;
        motor.slot = lines.slot;
        motor.letter = axis.letter;
        motor.step_channel = lines.step;
        motor.direction_channel = lines.direction;
        motor.steps_per_m = axis.steps_per_m();
        report.motors.push_back(std::move(motor));
    }
    for (const machine::Axis& axis : machine.axes)
        if (captured.find(axis.letter) == std::string::npos) report.not_captured += axis.letter;
}

}  // namespace

planner::Result<CaptureReport> run_capture(const machine::Machine& machine, std::istream& trace,
                                           const std::string& trace_name,
                                           const CaptureOptions& options,
                                           const run::ProgressCall& progress) {
    const auto opened = open_trace(trace, trace_name);
    if (!opened) return opened.diagnostics();
    TraceReader& reader = *opened.value();
    auto lines = select_lines(machine, reader, trace_name);
    if (!lines) return lines.diagnostics();
    const std::int64_t resolution_ps =
        options.resolution_s
            ? static_cast<std::int64_t>(std::llround(*options.resolution_s * kPicoseconds_per_s))
            : reader.resolution_ps();
    CaptureReport report;
    report.trace_file = trace_name;
    report.resolution_s = static_cast<double>(resolution_ps) / kPicoseconds_per_s;
    CaptureFeed feed(reader, machine, std::move(lines).value(), resolution_ps);
    describe(machine, feed, report);
    const run::ProgressCall read_share = [&](double) {
        if (progress && options.trace_bytes > 0)
            progress(static_cast<double>(reader.bytes_read()) /
                     static_cast<double>(options.trace_bytes));
    };
    if (options.program) {
        auto wrong = compare(machine, options, feed, read_share, resolution_ps, report);
        if (!wrong.empty()) return wrong;
    }
    while (feed.read()) {
        for (auto& pulses : feed.pulses)
            pulses.clear();
        read_share(0.0);
    }
    if (!reader.errors().empty()) return reader.errors();
    for (std::size_t i = 0; i < report.motors.size(); ++i)
        report.motors[i].lines = feed.result(i);
    if (feed.first_edge_ps() != INT64_MAX)
        report.begin_s = static_cast<double>(feed.first_edge_ps()) / kPicoseconds_per_s;
    report.end_s = static_cast<double>(reader.last_time_ps()) / kPicoseconds_per_s;
    judge_capture(machine, report);
    return report;
}

}  // namespace stepper_sim::capture
