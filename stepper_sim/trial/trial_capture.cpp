#include "stepper_sim/trial/trial_capture.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>

#include "planner/units/bisect.hpp"
#include "planner/units/units_text.hpp"
#include "stepper_sim/capture/capture_feed.hpp"
#include "stepper_sim/trial/trial.hpp"

namespace stepper_sim::trial {

namespace {

// Longer than pulses of one stroke are apart, shorter than the rest between strokes.
constexpr double kRecordedSilence_s = 0.5 * kTrialRest_s;
constexpr double kPlannedSilence_s = 0.08;
// What rounding to pulses can change: a share of a rung's duration, and of each stretch where controllers begin a little early or late.
constexpr double kSameTime = 0.005, kSameStart_s = 5e-4;
constexpr double kMostOff = 1.6;  // of a value: a wrong setting, beyond it a wrong trace
constexpr std::int64_t kPulsesOff = 2;
constexpr int kHalvings = 40;

/// Pulses without silence between them.
struct Burst {
    double first_s = 0.0, last_s = 0.0;
    std::int64_t pulses = 0;

    double duration_s() const { return last_s - first_s; }
};

class Bursts {
  public:
    explicit Bursts(double silence_s) : silence_s_(silence_s) {}

    void pulse(double time_s) {
        if (found.empty() || time_s - found.back().last_s > silence_s_)
            found.push_back({time_s, time_s, 0});
        found.back().last_s = time_s;
        ++found.back().pulses;
    }

    std::vector<Burst> found;

  private:
    double silence_s_;
};

double total_s(std::span<const Burst> bursts) {
    double sum_s = 0.0;
    for (const Burst& burst : bursts)
        sum_s += burst.duration_s();
    return sum_s;
}

planner::Result<std::vector<Burst>> read_bursts(std::istream& trace, const std::string& name,
                                                const machine::Machine& machine,
                                                const TrialSheet& sheet) {
    const auto reader = capture::open_trace(trace, name);
    if (!reader) return reader.diagnostics();
    const auto lines = capture::select_lines(machine, *reader.value(), name);
    if (!lines) return lines.diagnostics();
    const auto slot = static_cast<std::size_t>(sheet.slot);
    if (std::none_of(lines.value().begin(), lines.value().end(),
                     [&](const capture::MotorLines& motor) { return motor.slot == slot; }))
        return planner::Diagnostic{
            "trial/not-captured", sheet.capture ? sheet.capture->place : planner::Place{name, 0, 0},
            fmt::format("a capture without the lines of motor {}", sheet.letter),
            "one with its step and direction lines",
            "name them in the axis's capture = {...} of the machine file"};
    capture::CaptureFeed feed(*reader.value(), machine, lines.value(),
                              reader.value()->resolution_ps());
    Bursts bursts(kRecordedSilence_s);
    bool more = true;
    while (more) {
        more = feed.read();
        for (const capture::CapturedPulse& pulse : feed.pulses[slot])
            bursts.pulse(static_cast<double>(pulse.time_ps) / capture::kPicoseconds_per_s);
        for (auto& pulses : feed.pulses)
            pulses.clear();
    }
    if (!reader.value()->errors().empty()) return reader.value()->errors();
    return std::move(bursts.found);
}

/// Plans the rungs of one sheet as a controller would that is set to another value than they were written for.
class RungPlanner {
  public:
    RungPlanner(const TrialSheet& sheet, const machine::Machine& machine,
                const run::MotorModels& models)
        : sheet_(sheet), rig_(trial_rig(machine, models.loads, sheet.slot)) {
        const machine::Axis& axis = machine.axes[static_cast<std::size_t>(sheet.slot)];
        microstep_rad_ = rig_.rad_per_m / axis.steps_per_m();
    }

    std::vector<Burst> bursts(double written, double set) const {
        const RungMotion as_written = with_value(sheet_.motion, written);
        const std::vector<dynamics::RatePhase> phases = stroke_phases(
            rig_, rung_strokes(as_written), as_written.speed_m_s, with_value(sheet_.motion, set));
        Bursts bursts(kPlannedSilence_s);
        for (const dynamics::StepEdge& edge : dynamics::ideal_edges(phases, microstep_rad_))
            for (int i = 0; i < std::abs(edge.microsteps); ++i)
                bursts.pulse(edge.time_s);
        return std::move(bursts.found);
    }

    /// The value at which the rung lasts this long; nothing where no near value does.
    std::optional<double> value_lasting(double written, double duration_s) const {
        const auto lasts = [&](double set) { return total_s(bursts(written, set)); };
        const std::vector<Burst> planned = bursts(written, written);
        const double planned_s = total_s(planned);
        const double same_s =
            kSameTime * duration_s + kSameStart_s * static_cast<double>(planned.size());
        if (std::fabs(planned_s - duration_s) <= same_s) return written;
        // The frequency of a zig-zag is no setting: it comes of the settings that ran.
        if (sheet_.motion.question == TrialQuestion::resonance)
            return written * planned_s / duration_s;
        const planner::Bracket wide{written / kMostOff, written * kMostOff};
        if (lasts(wide.holds) < duration_s || lasts(wide.fails) > duration_s) return std::nullopt;
        const auto found = planner::bisect_ratio(
            wide, kHalvings, [&](double set) { return lasts(set) > duration_s; });
        return std::sqrt(found.holds * found.fails);
    }

  private:
    const TrialSheet& sheet_;
    TrialRig rig_;
    double microstep_rad_ = 0.0;
};

planner::Diagnostic other_trace(const TrialSheet& sheet, const std::string& trace_name,
                                std::string found, std::string expected) {
    return {"trial/other-trace",
            sheet.capture ? sheet.capture->place : planner::Place{trace_name, 0, 0},
            std::move(found), std::move(expected),
            "record from the first rung to the last one you ran, and end there"};
}

}  // namespace

planner::Result<std::vector<RecordedRung>> recorded_rungs(const TrialSheet& sheet,
                                                          const machine::Machine& machine,
                                                          const run::MotorModels& models,
                                                          std::istream& trace,
                                                          const std::string& trace_name) {
    const auto read = read_bursts(trace, trace_name, machine, sheet);
    if (!read) return read.diagnostics();
    const std::vector<Burst>& recorded = read.value();
    const RungPlanner plan(sheet, machine, models);
    std::vector<RecordedRung> rungs;
    std::vector<std::vector<Burst>> planned;
    std::size_t count = 0;
    for (std::size_t i = 0; i < sheet.rungs.size(); ++i) {
        if (sheet.rungs[i].result == RungResult::not_run) continue;
        const double value = sheet.rungs[i].value;
        rungs.push_back({i, value, true});
        planned.push_back(plan.bursts(value, value));
        count += planned.back().size();
    }
    if (recorded.size() < count)
        return other_trace(
            sheet, trace_name,
            fmt::format("a capture of {} strokes and zig-zags with rests between", recorded.size()),
            fmt::format("the {} of the {} rungs with a result", count, rungs.size()));
    std::size_t at = recorded.size() - count;
    for (std::size_t r = 0; r < rungs.size(); ++r) {
        const std::span<const Burst> own(&recorded[at], planned[r].size());
        at += own.size();
        for (std::size_t b = 0; b < own.size(); ++b)
            if (std::abs(own[b].pulses - planned[r][b].pulses) > kPulsesOff)
                return other_trace(
                    sheet, trace_name,
                    fmt::format("a stretch of {} pulses at {} s", own[b].pulses,
                                planner::format_number(own[b].first_s, 5)),
                    fmt::format("{} pulses of rung {}", planned[r][b].pulses, rungs[r].index + 1));
        const double written = rungs[r].value;
        const auto ran = plan.value_lasting(written, total_s(own));
        if (!ran)
            return other_trace(
                sheet, trace_name,
                fmt::format("{} s of motion in rung {}", planner::format_number(total_s(own), 4),
                            rungs[r].index + 1),
                fmt::format("about {} s", planner::format_number(total_s(planned[r]), 4)));
        rungs[r].agrees = *ran == written;
        rungs[r].value = *ran;
    }
    return rungs;
}

planner::Result<std::vector<std::string>> take_capture(TrialSheet& sheet,
                                                       const machine::Machine& machine,
                                                       const run::MotorModels& models) {
    std::vector<std::string> said;
    if (!sheet.capture) return said;
    std::error_code error;
    std::ifstream trace;
    if (std::filesystem::is_regular_file(sheet.capture->file, error))
        trace.open(sheet.capture->file, std::ios::binary);
    if (!trace.is_open())
        return planner::Diagnostic{"trial/no-capture", sheet.capture->place,
                                   planner::printable(sheet.capture->file, 200),
                                   "a file that can be read, beside the sheet", ""};
    const auto rungs = recorded_rungs(sheet, machine, models, trace, sheet.capture->file);
    if (!rungs) return rungs.diagnostics();
    const TrialQuestion question = sheet.motion.question;
    for (const RecordedRung& rung : rungs.value()) {
        double& value = sheet.rungs[rung.index].value;
        if (!rung.agrees)
            said.push_back(fmt::format("rung {} ran at {}, not {}", rung.index + 1,
                                       rung_text(question, rung.value),
                                       rung_text(question, value)));
        value = rung.value;
    }
    if (said.empty())
        said.push_back(fmt::format("its {} rungs ran as written", rungs.value().size()));
    return said;
}

}  // namespace stepper_sim::trial
