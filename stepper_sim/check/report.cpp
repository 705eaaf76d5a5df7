#include "stepper_sim/check/report.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "stepper_sim/check/consequence.hpp"
#include "stepper_sim/check/guessed_checks.hpp"
#include "stepper_sim/check/guesses.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "stepper_sim/run/worst_moves.hpp"

namespace stepper_sim::check {

namespace {

ProgramSummary sum_programs(const CheckInput& input) {
    ProgramSummary sum;
    sum.default_inches = input.machine.program.default_inches;
    for (const run::ProgramResult& program : input.programs) {
        if (!program.made_up) sum.files.push_back(program.file);
        sum.lines += program.lines;
        sum.moves += program.moves;
        sum.duration_s += program.duration_s;
        sum.path_m += program.path_m;
        sum.filament_m += program.filament_m;
        for (const planner::UnknownWord& word : program.notes.unknown_words)
            sum.unknown_words[word.word] += word.count;
        sum.units_stated = sum.units_stated && program.notes.units_stated;
    }
    return sum;
}

AxisSummary sum_axis(const CheckInput& input, std::size_t slot) {
    AxisSummary sum;
    sum.letter = input.machine.axes[slot].letter;
    bool first = true;
    for (const run::ProgramResult& program : input.programs) {
        const run::AxisRange& range = program.axes[slot];
        sum.peak_speed_m_s = std::max(sum.peak_speed_m_s, range.peak_speed_m_s);
        sum.peak_acceleration_m_s2 =
            std::max(sum.peak_acceleration_m_s2, range.peak_acceleration_m_s2);
        sum.min_m = first ? range.min_m : std::min(sum.min_m, range.min_m);
        sum.max_m = first ? range.max_m : std::max(sum.max_m, range.max_m);
        sum.end_m = range.end_m;
        first = false;
    }
    return sum;
}

SettingsSummary settings_of(const machine::Machine& machine, const machine::Axis& axis) {
    const machine::AxisSettings& now = axis.settings;
    return {axis.letter,
            now.max_speed.value(),
            now.max_acceleration.value(),
            now.speed_step.value(),
            now.steps_per_mm,
            axis.current.rms().value(),
            axis.microsteps,
            run::to_word(run::ceilings_of(machine, axis).binding())};
}

MotorSummary sum_motor(const CheckInput& input, std::size_t slot) {
    const machine::Axis& axis = input.machine.axes[slot];
    const motor::AvailableTorque& available = input.models.available[slot];
    MotorSummary sum;
    sum.letter = axis.letter;
    sum.ceilings = run::ceilings_of(input.machine, axis);
    sum.base_speed_m_s = available.base_speed().value() / (2.0 * std::numbers::pi) *
                         axis.drive.travel_per_turn().value();
    sum.top_speed_m_s = axis.settings.max_speed.value();
    sum.step_rate_speed_m_s = run::ceiling_speed_m_s(input.machine, axis);
    sum.torque_basis = available.description();
    for (const run::ProgramResult& program : input.programs) {
        const run::MotorResult& motor = program.motors[slot];
        sum.steps += motor.timing.steps;
        sum.net_steps += motor.timing.net_steps;
        sum.peak_step_rate_hz =
            std::max(sum.peak_step_rate_hz, motor.timing.peak_step_rate_hz.value);
        const double interval_s = motor.timing.min_interval_s.value;
        if (interval_s != controller::kNoneSeen)
            sum.min_interval_s =
                sum.min_interval_s > 0.0 ? std::min(sum.min_interval_s, interval_s) : interval_s;
        if (motor.torque.use().worse_than({sum.torque_use_peak, sum.torque_use_high})) {
            sum.torque_use_peak = motor.torque.use_low;
            sum.torque_use_nominal = motor.torque.use_nominal;
            sum.torque_use_high = motor.torque.use_high;
        }
        const run::MotorSlip& slip = program.slips.motors[slot];
        sum.screened = sum.screened || program.slips.run;
        sum.modal_ratio_peak = std::max(sum.modal_ratio_peak, slip.swing);
        sum.load_angle_peak_rad = std::max(sum.load_angle_peak_rad, slip.load_angle_rad);
        sum.ringing_peak_m = std::max(sum.ringing_peak_m, slip.ringing_m);
        sum.speed_step_use_peak = std::max(sum.speed_step_use_peak, motor.speed_step.use_low);
    }
    return sum;
}

ControllerSummary sum_controller(const CheckInput& input) {
    ControllerSummary sum;
    sum.name = input.machine.controller.name;
    sum.style = to_word(input.machine.controller.style);
    for (const run::ProgramResult& program : input.programs) {
        sum.load_peak = std::max(sum.load_peak, program.controller.load_peak.value);
        sum.late_pulses += program.controller.late_pulses;
        sum.lateness_peak_s =
            std::max(sum.lateness_peak_s, program.controller.lateness_peak_s.value);
    }
    return sum;
}

std::vector<PartUse> parts_of(const machine::Machine& machine) {
    std::vector<PartUse> parts;
    const auto add = [&](std::string_view kind, const std::string& name,
                         const machine::Source& source) {
        const bool known = std::any_of(parts.begin(), parts.end(), [&](const PartUse& part) {
            return part.kind == kind && part.name == name;
        });
        if (!known) parts.push_back({std::string(kind), name, source.document, source.known});
    };
    for (const machine::Axis& axis : machine.axes)
        add("motor", axis.motor.name, axis.motor.source);
    for (const machine::Axis& axis : machine.axes)
        add("driver", axis.driver.name, axis.driver.source);
    add("controller", machine.controller.name, machine.controller.source);
    return parts;
}

std::vector<std::string> assumptions_of(const CheckInput& input) {
    std::vector<std::string> said{
        "torque asked is quasi-static: inertia, friction and gravity as the machine file states "
        "them; the margin is there for what they do not",
        "between the low and the high torque figure nobody can say without a trial: that is "
        "\"thin\", never \"clear\"",
    };
    if (!input.programs.empty() && input.programs.front().made_up)
        said.emplace_back(fmt::format(
            "no program was given: judged on worst-case moves of the settings, zig-zags of {} "
            "strokes at every frequency among them; a program may hold longer ones",
            run::kZigZagStrokes));
    if (!input.programs.empty() && !sum_programs(input).units_stated)
        said.emplace_back(input.machine.program.default_inches
                              ? "the program states no unit: inch, as the machine file says"
                              : "the program states no unit: millimetre");
    if (!input.machine.work_offset_known)
        said.emplace_back(
            "program zero is set at the machine: only spans are compared with travel");
    for (std::string& sentence : guess_sentences(guesses_of(input.machine, input.models)))
        said.push_back(std::move(sentence));
    return said;
}

Findings with_ends_unseen(const CheckInput& input, Findings findings) {
    if (!guess_ends(input.machine, guesses_of(input.machine, input.models)).empty())
        findings.push_back(ends_unseen());
    return findings;
}

Report report_with(const CheckInput& input, Findings findings) {
    Report report;
    report.machine_name = input.machine.name;
    report.machine_file = input.machine.file;
    report.margin = input.margin;
    report.worst_case = !input.programs.empty() && input.programs.front().made_up;
    report.has_program = !input.programs.empty() && !report.worst_case;
    for (const run::ProgramResult& program : input.programs)
        report.unknown_words = report.unknown_words || !program.notes.unknown_words.empty();
    report.program = sum_programs(input);
    for (std::size_t slot = 0; slot < input.machine.axes.size(); ++slot) {
        report.settings.push_back(settings_of(input.machine, input.machine.axes[slot]));
        report.axes.push_back(sum_axis(input, slot));
        report.motors.push_back(sum_motor(input, slot));
    }
    report.controller = sum_controller(input);
    report.findings = std::move(findings);
    sort_by_consequence(report.findings);
    report.change_first = unverified_change(report.findings);
    report.verdict = verdict_of(report.findings);
    report.parts = parts_of(input.machine);
    report.assumptions = assumptions_of(input);
    return report;
}

}  // namespace

Report make_report(const CheckInput& input) {
    return report_with(input, with_ends_unseen(input, run_checks(input)));
}

Report make_report(const CheckInput& input, const Recheck& recheck,
                   const run::ProgressCall& progress) {
    Report report = report_with(input, run_guessed_checks(input, recheck));
    report.change_first = verified_change(input, report.findings, recheck, progress);
    if (report.verdict != Verdict::clear) report.measure_next = measure_next(input, recheck);
    return report;
}

std::string_view to_word(Verdict verdict) {
    switch (verdict) {
        case Verdict::clear:
            return "clear";
        case Verdict::thin:
            return "thin";
        case Verdict::fault:
            break;
    }
    return "fault";
}

std::string_view to_word(Grade grade) {
    switch (grade) {
        case Grade::note:
            return "note";
        case Grade::risk:
            return "risk";
        case Grade::fault:
            break;
    }
    return "fault";
}

std::string_view to_word(machine::ControllerStyle style) {
    switch (style) {
        case machine::ControllerStyle::ideal:
            return "ideal";
        case machine::ControllerStyle::line:
            return "line";
        case machine::ControllerStyle::fixed_rate:
            return "fixed-rate";
        case machine::ControllerStyle::scheduled:
            break;
    }
    return "scheduled";
}

}  // namespace stepper_sim::check
