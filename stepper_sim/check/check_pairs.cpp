#include "stepper_sim/check/check_pairs.hpp"

#include <oneapi/tbb/blocked_range.h>
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/partitioner.h>
#include <oneapi/tbb/task_arena.h>

#include <algorithm>
#include <atomic>

#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/run/run_sources.hpp"

namespace stepper_sim::check {

namespace {

struct MachineAndModels {
    machine::Machine machine;
    run::MotorModels models;
};

void judge(const MachineAndModels& on, const PairsQuestion& question, PairReport& row) {
    std::vector<run::ProgramSource> programs;
    if (!row.program.empty()) programs.emplace_back(row.program);
    run::RunOptions options = question.options;
    options.margin = question.margin;
    auto read = run::read_once(on.machine, programs);
    if (!read) {
        row.errors = std::move(read).diagnostics();
        return;
    }
    programs = std::move(read).value();
    const auto sources = run::sources_of(on.machine, on.models, programs, options);
    auto results = run::run_sources(on.machine, on.models, sources, options);
    if (!results) {
        row.errors = std::move(results).diagnostics();
        return;
    }
    row.report =
        make_report({on.machine, on.models, results.value(), question.margin}, {programs, options});
}

}  // namespace

std::vector<PairReport> check_pairs(const PairsQuestion& question,
                                    const run::ProgressCall& progress) {
    std::vector<std::optional<MachineAndModels>> machines;
    std::vector<PairReport> rows;
    std::vector<std::size_t> machine_of_row;
    for (const std::string& file : question.machines) {
        auto machine = machine::read_machine(file, question.catalogue);
        machines.emplace_back();
        const auto add_row = [&](const std::string& program) {
            rows.push_back({file, program, std::nullopt, {}});
            machine_of_row.push_back(machines.size() - 1);
        };
        if (!machine) {
            add_row({});
            rows.back().errors = std::move(machine).diagnostics();
            continue;
        }
        run::MotorModels models = run::motor_models(machine.value());
        machines.back() = {std::move(machine).value(), std::move(models)};
        if (question.programs.empty()) add_row({});
        for (const std::string& program : question.programs)
            add_row(program);
    }

    std::atomic<std::size_t> done = 0;
    tbb::parallel_for(
        tbb::blocked_range<std::size_t>(0, rows.size(), 1),
        [&](const tbb::blocked_range<std::size_t>& range) {
            for (std::size_t i = range.begin(); i < range.end(); ++i) {
                // Without isolation a core that waits inside one pair would begin another on top of it.
                const auto& machine = machines[machine_of_row[i]];
                if (machine)
                    tbb::this_task_arena::isolate([&] { judge(*machine, question, rows[i]); });
                if (progress)
                    progress(static_cast<double>(++done) / static_cast<double>(rows.size()));
            }
        },
        tbb::simple_partitioner());
    return rows;
}

std::optional<Verdict> worst_verdict(std::span<const PairReport> pairs) {
    Verdict worst = Verdict::clear;
    for (const PairReport& pair : pairs) {
        if (!pair.report) return std::nullopt;
        worst = std::max(worst, pair.report->verdict);
    }
    return worst;
}

}  // namespace stepper_sim::check
