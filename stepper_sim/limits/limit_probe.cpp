#include "stepper_sim/limits/limit_probe.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/guesses.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "stepper_sim/run/run_program.hpp"

namespace stepper_sim::limits {

namespace {

constexpr std::array kOfSettings{
    std::string_view("step-rate"),      std::string_view("torque"),
    std::string_view("speed-step"),     std::string_view("pulse-timing"),
    std::string_view("processor-load"), std::string_view("screw-whip")};

run::Binding ceiling_of(const machine::Machine& machine, int slot) {
    return run::ceilings_of(machine, machine.axes[static_cast<std::size_t>(slot)]).binding();
}

run::Binding binding_of(const machine::Machine& machine, const check::Finding& finding, int slot) {
    if (finding.check == "step-rate" && slot >= 0) return ceiling_of(machine, slot);
    if (finding.check == "pulse-timing") return run::Binding::driver;
    if (finding.check == "screw-whip") return run::Binding::screw_whip;
    if (finding.check == "torque") return run::Binding::torque;
    if (finding.check == "speed-step") return run::Binding::start_step;
    return run::Binding::controller;
}

/// The worst finding that settings can change, of the motors asked about.
bool judge(const ProbeQuestion& question, std::span<const run::ProgramResult> programs,
           ProbeAnswer& answer) {
    const check::Findings findings =
        check::run_checks({question.machine, question.models, programs, question.margin});
    for (const check::Finding& finding : findings) {
        if (finding.grade == check::Grade::note ||
            std::find(kOfSettings.begin(), kOfSettings.end(), finding.check) == kOfSettings.end())
            continue;
        const int slot = question.machine.program.axes.slot(finding.motor);  // -1: of no motor
        if (slot >= 0 && (question.motors >> slot & 1U) == 0) continue;
        answer.clear = false;
        answer.binds = binding_of(question.machine, finding, slot);
        answer.why = finding.message;
        answer.motor = slot;
        return false;
    }
    return true;
}

void blame_slip(const ProbeQuestion& question, const run::HeldRun& run, ProbeAnswer& answer) {
    answer.clear = false;
    answer.binds = run::Binding::resonance;
    if (!run.slip) {
        answer.why = "more suspicious stretches than are simulated";
        return;
    }
    const run::SlipWindow& slip = *run.slip;
    answer.motor = slip.motor;
    answer.plant = slip.answer.harshest;
    const char letter = question.machine.axes[static_cast<std::size_t>(slip.motor)].letter;
    const std::string hz = planner::format_number(slip.natural_hz, 3);
    const std::string corner = planner::format_number(slip.base_share, 2);
    switch (slip.reason()) {
        case run::SlipReason::resonance:
            answer.why = fmt::format(
                "motor {} slips in {} reversals, {} cycles a second, near the axis's own {} Hz",
                letter, slip.reversals, planner::format_number(slip.reversal_rate_hz, 3), hz);
            break;
        case run::SlipReason::instability:
            answer.binds = run::Binding::instability;
            answer.why = fmt::format("motor {} slips in a long cruise at {} times its base speed",
                                     letter, corner);
            break;
        case run::SlipReason::torque:
            answer.binds = run::Binding::torque;
            answer.why =
                fmt::format("motor {} slips at {} times its base speed, where torque falls off",
                            letter, corner);
            break;
        case run::SlipReason::late_pulses:
            answer.binds = run::Binding::controller;
            answer.why =
                fmt::format("motor {} slips where the controller sends pulses late", letter);
            break;
        case run::SlipReason::swing:
            answer.why = fmt::format(
                "motor {} slips when speed steps and accelerations swing it at {} Hz", letter, hz);
            break;
    }
}

/// At one set of values of what is guessed.
planner::Result<ProbeAnswer> probe_at(const ProbeQuestion& question) {
    ProbeAnswer answer;
    if (!judge(question, {}, answer)) return answer;
    std::vector<const run::ProgramSource*> sources;
    for (const run::ProgramSource& source : question.sources)
        sources.push_back(&source);
    run::SearchHints hints{{}, -1, question.memo};
    if (question.last_no != nullptr) {
        hints.suspect = question.last_no->plant;
        hints.suspect_motor = question.last_no->motor;
        std::stable_partition(sources.begin(), sources.end(),
                              [&](const run::ProgramSource* source) {
                                  return source->name() == question.last_no->source;
                              });
    }
    for (const run::ProgramSource* source : sources) {
        auto ran = run::run_until_slip(question.machine, question.models, *source, question.motors,
                                       question.margin, hints);
        if (!ran) return ran.diagnostics();
        const run::HeldRun& run = ran.value();
        if (judge(question, {&run.result, 1}, answer) && !run.holds)
            blame_slip(question, run, answer);
        if (answer.clear) continue;
        answer.source = source->name();
        return answer;
    }
    return answer;
}

planner::Result<ProbeAnswer> probe_end(const ProbeQuestion& question, const check::GuessEnd& end) {
    const run::MotorModels models = run::motor_models(end.machine);
    auto answer = probe_at({end.machine, models, question.sources, question.margin, question.motors,
                            question.last_no, question.memo});
    if (!answer || answer.value().clear) return answer;
    ProbeAnswer no = std::move(answer).value();
    no.why += "; " + end.said;
    no.end = end.said;
    return no;
}

}  // namespace

planner::Result<ProbeAnswer> probe(const ProbeQuestion& question) {
    auto ends =
        check::guess_ends(question.machine, check::guesses_of(question.machine, question.models));
    const std::string last = question.last_no != nullptr ? question.last_no->end : "";
    const auto first_asked = std::partition(
        ends.begin(), ends.end(),
        [&](const check::GuessEnd& end) { return !last.empty() && end.said == last; });
    for (auto end = ends.begin(); end != first_asked; ++end) {
        auto answer = probe_end(question, *end);
        if (!answer || !answer.value().clear) return answer;
    }
    auto answer = probe_at(question);
    for (auto end = first_asked; end != ends.end(); ++end) {
        if (!answer || !answer.value().clear) break;
        answer = probe_end(question, *end);
    }
    return answer;
}

}  // namespace stepper_sim::limits
