#include <fmt/core.h>

#include <algorithm>

#include "stepper_sim/check/words.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/many.hpp"
#include "stepper_sim/cli/proposal.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/limits_json.hpp"
#include "stepper_sim/report/summary.hpp"

namespace stepper_sim::cli {

namespace {

using Rows = std::vector<std::vector<std::string>>;

/// Programs that the machine cannot run are told, and do not stand in the way of the others.
report::MachineLimits limits_of(const std::string& file, const machine::InputFiles& files,
                                double margin, const Invocation& invocation) {
    report::MachineLimits one{file, {}, {}, {}, {}};
    auto machine = machine::read_machine(file, catalogue_folders(invocation));
    if (!machine) {
        one.errors = std::move(machine).diagnostics();
        return one;
    }
    one.machine = std::move(machine).value();
    const run::MotorModels models = run::motor_models(*one.machine);
    for (const std::string& program : files.programs) {
        const auto run = run::run_program(*one.machine, models, program, {.dynamics = false});
        if (run)
            one.programs.emplace_back(program);
        else
            one.errors.insert(one.errors.end(), run.diagnostics().begin(), run.diagnostics().end());
    }
    if (one.programs.empty() && !files.programs.empty()) return one;
    one.proposal = propose(*one.machine, margin, one.programs);
    return one;
}

/// What binds the three settings, each word once.
std::string binds_of(const limits::AxisLimits& axis) {
    std::string said;
    const auto add = [&](const limits::SettingLimit& setting) {
        const std::string word(run::to_word(setting.binds));
        if (said.find(word) == std::string::npos) said += (said.empty() ? "" : ", ") + word;
    };
    add(axis.speed);
    add(axis.acceleration);
    if (axis.step) add(*axis.step);
    return said;
}

std::vector<std::string> row_of(const limits::AxisLimits& axis) {
    const std::string letter = fmt::format("  {}", axis.letter);
    if (!axis.holds) return {letter, "none", "none", "none", ""};
    return {letter, check::words::mm_s(axis.speed.with_margin),
            check::words::mm_s2(axis.acceleration.with_margin),
            axis.step ? check::words::mm_s(axis.step->with_margin) : "-", binds_of(axis)};
}

std::string text_of(const report::MachineLimits& one) {
    std::string out =
        '\n' + report::machine_heading(one.file, one.machine ? one.machine->name : "");
    if (one.proposal) {
        Rows rows{{"  axis", "max_speed", "acceleration", "speed step", "limited by"}};
        for (const limits::AxisLimits& axis : one.proposal->limits.axes)
            rows.push_back(row_of(axis));
        out += report::table(rows);
        if (!one.proposal->limits.clear)
            out += "    " +
                   report::wrapped(
                       "`check` does not say clear: " + one.proposal->limits.why_not_clear, 4, 4);
    }
    if (const std::string why = report::first_error(one.errors); !why.empty())
        out += "    " + report::wrapped("unusable: " + why, 4, 4);
    return out;
}

std::string text_of(std::span<const report::MachineLimits> machines,
                    const machine::InputFiles& files, double margin) {
    std::string out =
        report::wrapped(fmt::format("Values with {} margin", check::words::percent(margin)), 0, 0);
    for (const report::MachineLimits& one : machines)
        out += text_of(one);
    return out + report::left_out_text(files.left_out) + '\n' +
           report::wrapped(
               "`limits` with one machine and its programs says why, what the values are worth and "
               "writes them",
               0, 0);
}

}  // namespace

Exit limits_many(const Invocation& invocation, const machine::InputFiles& files, double margin) {
    if (asks_for_one(invocation, {"--write"})) return Exit::unusable;
    std::vector<report::MachineLimits> machines;
    ErrorsOnce errors;
    for (const std::string& file : files.machines) {
        machines.push_back(limits_of(file, files, margin, invocation));
        if (!json_to_output(invocation)) errors.stands_elsewhere(machines.back().errors);
        errors.print(machines.back().errors);
    }
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), report::limits_json(machines, files.left_out)))
        return Exit::unusable;
    if (!json_to_output(invocation) && !print(text_of(machines, files, margin)))
        return Exit::unusable;
    const bool usable = files.errors.empty() &&
                        std::all_of(machines.begin(), machines.end(),
                                    [](const report::MachineLimits& one) { return one.usable(); });
    if (!usable) return Exit::unusable;
    const bool clear =
        std::all_of(machines.begin(), machines.end(),
                    [](const report::MachineLimits& one) { return one.proposal->limits.clear; });
    return clear ? Exit::good : Exit::fault;
}

}  // namespace stepper_sim::cli
