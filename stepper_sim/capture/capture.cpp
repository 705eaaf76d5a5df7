#include "stepper_sim/capture/capture.hpp"

#include <algorithm>
#include <cmath>

#include "stepper_sim/capture/capture_align.hpp"
#include "stepper_sim/capture/capture_feed.hpp"
#include "stepper_sim/capture/capture_plan.hpp"

namespace stepper_sim::capture {
namespace {

// Guesses.
constexpr std::int64_t kFewPulses = 24;
constexpr double kMostlyFollows = 0.9, kMostOfThem = 0.9;

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
        auto wrong = run_plan(machine, *options.program, align);
        if (!wrong.empty()) return wrong;
        aligner.finish();
        clock = aligner.clock();
    }
    if (!clock) return {};
    report.aligned = true;
    MatchSink match(machine, feed, progress, *clock, resolution_ps);
    match.hand_over();
    auto wrong = run_plan(machine, *options.program, match);
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

/// A trace under a machine file, compared and not yet judged.
struct Reading {
    std::istream& trace;
    const std::string& trace_name;
    const CaptureOptions& options;
    const run::ProgressCall& progress;

    planner::Result<CaptureReport> report(
        const machine::Machine& machine,
        const std::optional<std::vector<MotorLines>>& given = {}) const;
};

planner::Result<CaptureReport> Reading::report(
    const machine::Machine& machine, const std::optional<std::vector<MotorLines>>& given) const {
    const auto opened = open_trace(trace, trace_name);
    if (!opened) return opened.diagnostics();
    TraceReader& reader = *opened.value();
    auto lines = given ? select_lines(reader, *given) : select_lines(machine, reader, trace_name);
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
    return report;
}

/// Every motor goes with the plan, but for faults here and there.
bool follows(const CaptureReport& report) {
    return report.aligned &&
           std::all_of(report.motors.begin(), report.motors.end(), [](const CapturedMotor& motor) {
               if (!motor.match || motor.match->lost || motor.lines.looks_inverted()) return false;
               const std::int64_t most = std::max(motor.match->planned, motor.lines.pulses());
               if (most < kFewPulses) return true;
               const auto matched = static_cast<double>(motor.match->matched),
                          wrong = static_cast<double>(motor.match->wrong_direction.count);
               const double astray = std::min(wrong, matched - wrong);
               return matched - astray > kMostlyFollows * static_cast<double>(most);
           });
}

void measure_fit(const CaptureReport& report, OtherSettings& settings) {
    std::int64_t in_place = 0, most = 0;
    settings.within_s = report.resolution_s;
    for (const CapturedMotor& motor : report.motors) {
        const MotorMatch& match = *motor.match;
        in_place += match.matched - match.late.count;
        most += std::max(match.planned, motor.lines.pulses());
        settings.within_s = std::max(
            settings.within_s,
            static_cast<double>(match.deviation.percentile_ps(kMostOfThem)) / kPicoseconds_per_s);
    }
    if (most > 0) settings.in_place = static_cast<double>(in_place) / static_cast<double>(most);
}

/// From its beginning again.
bool rewound(std::istream& trace) {
    trace.clear();
    return trace.seekg(0).good();
}

/// The report under another reading of the trace or other settings, where it follows the program then.
std::optional<CaptureReport> explained(const Reading& reading, const machine::Machine& machine,
                                       CaptureReport& named) {
    const auto resolution_ps = std::llround(named.resolution_s * kPicoseconds_per_s);
    if (!rewound(reading.trace)) return std::nullopt;
    const auto head = read_head(machine, reading.trace, reading.trace_name, resolution_ps);
    if (!head) return std::nullopt;
    const run::ProgramSource program(*reading.options.program);
    auto supposed = suppose_channels(machine, program, head.value());
    if (supposed && !supposed->lines) {
        named.channels = supposed->channels;
        return std::nullopt;
    }
    if (!supposed) supposed = suppose_settings(machine, program, head.value());
    if (!supposed || !rewound(reading.trace)) return std::nullopt;
    auto read = reading.report(supposed->machine, supposed->lines);
    if (!read || !follows(read.value())) return std::nullopt;
    CaptureReport again = std::move(read).value();
    again.channels = std::move(supposed->channels);
    again.settings = std::move(supposed->settings);
    if (again.settings) {
        measure_fit(again, *again.settings);
        if (again.settings->in_place < kMostlyFollows) return std::nullopt;
    }
    return again;
}

}  // namespace

planner::Result<CaptureReport> run_capture(const machine::Machine& machine, std::istream& trace,
                                           const std::string& trace_name,
                                           const CaptureOptions& options,
                                           const run::ProgressCall& progress) {
    const Reading reading{trace, trace_name, options, progress};
    auto read = reading.report(machine);
    if (!read) return read;
    CaptureReport report = std::move(read).value();
    if (options.program && !follows(report))
        if (auto other = explained(reading, machine, report)) report = std::move(*other);
    judge_capture(machine, report);
    return report;
}

}  // namespace stepper_sim::capture
