#include "stepper_sim/run/run_program.hpp"

#include <oneapi/tbb/parallel_invoke.h>

#include <algorithm>
#include <optional>
#include <vector>

#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/run/move_watcher.hpp"
#include "stepper_sim/run/slip_confirm.hpp"
#include "stepper_sim/run/slip_cure.hpp"
#include "stepper_sim/run/slip_screen.hpp"

namespace stepper_sim::run {

namespace {

// Guess: of the whole work, reading and screening, then the second pass with its simulations; the
// search for cures, if any, is the rest.
constexpr double kPlanningShare = 0.3, kConfirmedShare = 0.6;

/// The progress of one part of the work, as a share of the whole.
ProgressCall part_of(const ProgressCall& progress, double from, double to) {
    if (!progress) return {};
    return [=](double share) { progress(from + (to - from) * share); };
}

/// One search for each motor that slips; its riskiest slipping window says which setting to lower.
void look_for_cures(const machine::Machine& machine, const MotorModels& models,
                    const ProgramSource& program, const RunOptions& options, ProgramResult& result,
                    const ProgressCall& progress) {
    std::vector<const SlipWindow*> worst;
    for (const SlipWindow& window : result.slips.windows) {
        MotorSlip& motor = result.slips.motors[static_cast<std::size_t>(window.motor)];
        if (window.answer.holds() || motor.cure_sought) continue;
        motor.cure_sought = true;
        worst.push_back(&window);
    }
    const double each = 1.0 / static_cast<double>(std::max<std::size_t>(worst.size(), 1));
    for (std::size_t i = 0; i < worst.size(); ++i) {
        const double from = each * static_cast<double>(i);
        result.slips.motors[static_cast<std::size_t>(worst[i]->motor)].cure = find_cure(
            machine, models, program, worst[i]->motor, worst[i]->lower(),
            {options.most_windows, options.margin, false}, part_of(progress, from, from + each));
    }
}

void show(std::span<const planner::MotorMove> moves, std::optional<SlipScreen>& screen,
          MoveWatcher& watcher) {
    std::vector<MoveRatio> ratios(moves.size());
    if (screen) screen->push(moves, ratios);
    watcher.push(moves, ratios);
}

struct FirstPass {
    ProgramResult result;
    std::vector<MotorScreen> screens;  // empty: dynamics were not asked for
};

/// Pulses, demand and the slip screen, in one pass.
planner::Result<FirstPass> first_pass(const machine::Machine& machine, const MotorModels& models,
                                      const ProgramSource& program, const RunOptions& options,
                                      const ProgressCall& progress) {
    controller::PulseRun pulses(machine);
    Demand demand(machine, models);
    std::optional<SlipScreen> screen;
    if (options.dynamics) screen.emplace(machine, models, options.margin);
    const auto planned = plan_file(
        machine, program,
        [&](std::span<const planner::MotorMove> moves) {
            // Three readers of one chunk, none of which knows of the others.
            tbb::parallel_invoke([&] { pulses.push(moves); }, [&] { demand.push(moves); },
                                 [&] {
                                     if (options.watcher != nullptr)
                                         show(moves, screen, *options.watcher);
                                     else if (screen)
                                         screen->push(moves);
                                 });
            return true;
        },
        progress);
    if (!planned) return planned.diagnostics();
    pulses.finish();

    FirstPass pass;
    ProgramResult& result = pass.result;
    result.file = program.name();
    result.made_up = program.made_up();
    result.notes = planned.value().notes;
    result.lines = result.notes.lines;
    demand.finish(result);
    result.duration_s += planned.value().trailing_rest_s;
    for (int m = 0; m < static_cast<int>(machine.axes.size()); ++m)
        result.motors[static_cast<std::size_t>(m)].timing = pulses.motor(m);
    result.controller = pulses.controller();
    if (result.moves == 0)
        return planner::Diagnostic{"program/nothing-moves",
                                   {result.file, 0, 0},
                                   "no move in the whole program",
                                   "a program with moves",
                                   "give the program that the machine will run"};
    if (screen) pass.screens = screen->finish();
    return pass;
}

}  // namespace

planner::Result<ProgramResult> run_program(const machine::Machine& machine,
                                           const MotorModels& models, const ProgramSource& program,
                                           const RunOptions& options,
                                           const ProgressCall& progress) {
    auto planned = first_pass(machine, models, program, options,
                              part_of(progress, 0.0, options.dynamics ? kPlanningShare : 1.0));
    if (!planned) return planned.diagnostics();
    FirstPass pass = std::move(planned).value();
    ProgramResult result = std::move(pass.result);
    if (options.dynamics) {
        auto slips =
            confirm_slips(machine, models, program, std::move(pass.screens),
                          {options.most_windows, options.margin, result.controller.late_pulses > 0},
                          part_of(progress, kPlanningShare, kConfirmedShare));
        if (!slips) return slips.diagnostics();
        result.slips = std::move(slips).value();
        if (options.cures && result.planned_moves <= kMostCureMoves)
            look_for_cures(machine, models, program, options, result,
                           part_of(progress, kConfirmedShare, 1.0));
    }
    return result;
}

planner::Result<HeldRun> run_until_slip(const machine::Machine& machine, const MotorModels& models,
                                        const ProgramSource& program, std::uint32_t motors,
                                        double margin, const SearchHints& hints) {
    RunOptions options;
    options.margin = margin;
    auto planned = first_pass(machine, models, program, options, {});
    if (!planned) return planned.diagnostics();
    FirstPass pass = std::move(planned).value();
    for (std::size_t m = 0; m < pass.screens.size(); ++m)
        if ((motors >> m & 1U) == 0) pass.screens[m] = {};
    auto held = all_hold(machine, models, program, std::move(pass.screens),
                         {options.most_windows, margin, false, hints});
    if (!held) return held.diagnostics();
    HeldRun run{std::move(pass.result), held.value().holds, held.value().slip};
    run.result.slips.run = true;
    return run;
}

}  // namespace stepper_sim::run
