#include <fmt/core.h>

#include <algorithm>

#include "stepper_sim/check/candidates.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim::check {

namespace {

// Guess: the load is that of a millisecond (load_window.hpp), in which steps do not fall evenly.
constexpr double kUneven = 0.9;

/// Every motor that steps too fast for the controller makes `share` of the fastest one's steps: with fewer microsteps, or slower.
std::vector<Change> changes_of(const CheckInput& input, const run::ProgramResult& program) {
    const double load = program.controller.load_peak.value;
    const double allowed = kUneven * input.machine.controller.processor_share;
    double fastest_hz = 0.0;
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m)
        fastest_hz = std::max(fastest_hz, program.motors[m].timing.peak_step_rate_hz.value);
    Change fewer, slower, slower_still;
    bool all_fewer = true;
    const double target_hz = std::min(allowed / load, kUneven) * fastest_hz;
    for (std::size_t m = 0; m < input.machine.axes.size(); ++m) {
        const double rate_hz = program.motors[m].timing.peak_step_rate_hz.value;
        if (!(rate_hz > target_hz)) continue;
        const double share = target_hz / rate_hz;
        const auto microsteps = candidates::fewer_microsteps(input, m, share);
        all_fewer = all_fewer && microsteps;
        if (microsteps) candidates::join(fewer, *microsteps);
        const auto in_programs = candidates::Reached::in_programs;
        candidates::join(slower, candidates::slower(input, m, share, in_programs));
        // A try: the load may come from the other motors' steps too.
        candidates::join(slower_still, candidates::slower(input, m, share * share, in_programs));
    }
    slower_still.is_try = true;
    std::vector<Change> changes;
    if (all_fewer) candidates::add(changes, fewer);
    candidates::add(changes, slower);
    candidates::add(changes, slower_still);
    return changes;
}

}  // namespace

void check_processor_load(const CheckInput& input, Findings& findings) {
    const double share = input.machine.controller.processor_share;
    for (const run::ProgramResult& program : input.programs) {
        const controller::ControllerTiming& timing = program.controller;
        if (timing.late_pulses > 0) {
            Finding finding;
            finding.check = "processor-load";
            finding.grade = Grade::fault;
            finding.line = timing.lateness_peak_s.line;
            finding.time_s = timing.lateness_peak_s.time_s;
            finding.value = timing.lateness_peak_s.value;
            finding.unit = "s";
            finding.message = fmt::format(
                "{} pulses leave late, the worst by {} at line {}: controller {} cannot keep up",
                timing.late_pulses, words::interval(timing.lateness_peak_s.value),
                timing.lateness_peak_s.line, input.machine.controller.name);
            finding.changes = changes_of(input, program);
            findings.push_back(std::move(finding));
        } else if (timing.load_peak.value > share) {
            Finding finding;
            finding.check = "processor-load";
            finding.grade = Grade::risk;
            finding.line = timing.load_peak.line;
            finding.time_s = timing.load_peak.time_s;
            finding.value = timing.load_peak.value;
            finding.limit = share;
            finding.unit = "1";
            finding.message = fmt::format(
                "stepping takes {} of controller {} at line {}, more than the allowed {}",
                words::percent(timing.load_peak.value), input.machine.controller.name,
                timing.load_peak.line, words::percent(share));
            finding.changes = changes_of(input, program);
            findings.push_back(std::move(finding));
        }
    }
}

}  // namespace stepper_sim::check
