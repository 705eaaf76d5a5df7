#include <array>
#include <optional>

#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/many.hpp"
#include "stepper_sim/cli/proposal.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/limits/settings_text.hpp"
#include "stepper_sim/machine/text_file.hpp"
#include "stepper_sim/report/corners_text.hpp"
#include "stepper_sim/report/limits_json.hpp"
#include "stepper_sim/report/limits_text.hpp"
#include "stepper_sim/report/text.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachinesOption,
    {"PROGRAM", "FILE", "G-code programs that must hold too; or more machines (.toml) and folders",
     false, true},
    kMarginOption,
    {"--write", "FILE", "write a copy of the machine file with the values with margin", false,
     false},
    kJsonOption,
    kProgressOption,
    kCatalogueOption,
});

bool write_machine(const machine::Machine& machine, const limits::Limits& limits,
                   const Invocation& invocation) {
    const auto text = machine::reading::read_text_file(invocation.text("MACHINE"));
    if (!text) {
        print_diagnostics(text.diagnostics());
        return false;
    }
    const auto changed = limits::with_settings(text.value(), machine.file,
                                               limits::with_margin(machine, limits), machine);
    if (!changed) {
        print_diagnostics(changed.diagnostics());
        return false;
    }
    return write_file(invocation.text("--write"), report::with_caution_line(changed.value()));
}

Exit run(const Invocation& invocation) {
    const auto margin = margin_of(invocation);
    const auto files = files_of(invocation);
    if (!margin || !files) return Exit::unusable;
    if (!files->one_machine()) return limits_many(invocation, *files, *margin);
    const auto machine = machine_of(invocation);
    if (!machine) return Exit::unusable;
    const std::vector<run::ProgramSource> programs = programs_of(invocation);
    const auto proposal = propose(*machine, *margin, programs);
    if (!proposal) return Exit::unusable;
    const auto& [limits, measured, worth, corners] = *proposal;
    if (invocation.has("--write") && !write_machine(*machine, limits, invocation))
        return Exit::unusable;
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), report::limits_json(*machine, *proposal, programs)))
        return Exit::unusable;
    if (!json_to_output(invocation) && invocation.text("--write") != "-" &&
        !print(report::with_caution(
            report::limits_text(*machine, limits) + report::measure_text(measured) +
            (worth ? report::worth_text(*worth) : "") +
            (corners ? report::corners_text(*corners, invocation.all("PROGRAM")) : ""))))
        return Exit::unusable;
    return limits.clear ? Exit::good : Exit::fault;
}

}  // namespace

const CommandRow kLimitsCommand{
    "limits",
    "highest speed, acceleration and speed step of each axis that hold, and what limits them",
    "stepper_sim limits configs/machines/tray-printer.toml configs/programs/wedge-marker.gcode",
    kOptions, run};

}  // namespace stepper_sim::cli
