#include <array>

#include "planner/units/units_text.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/sheets.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/machine/text_file.hpp"
#include "stepper_sim/report/fit_text.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/trial/trial_capture.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"SHEET", "FILE", "filled sheets of trials, all of this machine's", true, true},
    {"--write", "FILE", "write a copy of the machine file with the fitted values", false, false},
    kJsonOption,
    kCatalogueOption,
});

/// The machine file with the fitted values: its text, and what it reads back as.
struct FittedFile {
    std::string text;
    machine::Machine machine;
};

planner::Result<FittedFile> fitted_file(const machine::Machine& machine,
                                        std::span<const trial::FittedValue> values,
                                        const Invocation& invocation) {
    const auto text = machine::reading::read_text_file(invocation.text("MACHINE"));
    if (!text) return text.diagnostics();
    const auto changed = trial::with_fitted(text.value(), machine.file, values);
    if (!changed) return changed.diagnostics();
    auto again =
        machine::read_machine_text(changed.value(), machine.file, catalogue_folders(invocation));
    if (!again) return again.diagnostics();
    return FittedFile{changed.value(), std::move(again).value()};
}

/// Limits of the axes that were tried, with what was believed and with what is known now.
std::optional<report::LimitsBothWays> limits_of(const machine::Machine& before,
                                                const machine::Machine& after,
                                                std::span<const trial::AxisFit> fits) {
    std::uint32_t slots = 0;
    for (const trial::AxisFit& fit : fits)
        slots |= std::uint32_t{1} << fit.slot;
    report::LimitsBothWays both;
    Progress progress("looking for limits");
    double done = 0.0;
    for (const auto& [machine, limits] :
         {std::pair(&before, &both.before), std::pair(&after, &both.after)}) {
        const auto found =
            limits::find_limits({*machine, {}, run::kDefaultMargin, slots},
                                [&](double share) { progress.share(0.5 * (done + share)); });
        print_diagnostics(found.diagnostics());
        if (!found) return std::nullopt;
        *limits = found.value();
        done += 1.0;
    }
    progress.done();
    return both;
}

Exit run(const Invocation& invocation) {
    const auto machine = machine_of(invocation);
    if (!machine) return Exit::unusable;
    const run::MotorModels models = run::motor_models(*machine);
    const auto fits = fits_of(*machine, models, invocation.all("SHEET"));
    if (!fits) return Exit::unusable;
    const std::vector<trial::FittedValue> values =
        trial::fitted_values(*machine, models, fits->axes);
    const auto file = fitted_file(*machine, values, invocation);
    print_diagnostics(file.diagnostics());
    std::optional<report::LimitsBothWays> limits;
    if (file) {
        if (invocation.has("--write") &&
            !write_file(invocation.text("--write"), report::with_caution_line(file.value().text)))
            return Exit::unusable;
        limits = limits_of(*machine, file.value().machine, fits->axes);
        if (!limits) return Exit::unusable;
    } else if (invocation.has("--write")) {
        return Exit::unusable;
    }
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), report::fit_json(*machine, *fits, values, limits)))
        return Exit::unusable;
    if (!json_to_output(invocation) && invocation.text("--write") != "-" &&
        !print(report::with_caution(report::fit_text(*machine, *fits, values, limits))))
        return Exit::unusable;
    return Exit::good;
}

}  // namespace

std::optional<trial::FittedSheets> fits_of(const machine::Machine& machine,
                                           const run::MotorModels& models,
                                           const std::vector<std::string>& files) {
    trial::FittedSheets out;
    std::vector<trial::TrialSheet> sheets;
    bool good = true;
    const auto told = [&](const auto& result) {
        print_diagnostics(result.diagnostics());
        good = good && static_cast<bool>(result);
        return static_cast<bool>(result);
    };
    for (const std::string& file : files) {
        auto read = trial::read_sheet(file, machine);
        if (!told(read)) continue;
        trial::TrialSheet sheet = std::move(read).value();
        const auto recorded = trial::take_capture(sheet, machine, models);
        if (!told(recorded)) continue;
        for (const std::string& line : recorded.value())
            out.recorded.push_back(planner::printable(file, 200) + ": " + line);
        sheets.push_back(std::move(sheet));
    }
    if (!good) return std::nullopt;
    auto fits = trial::fit(machine, models, sheets);
    if (!told(fits)) return std::nullopt;
    out.axes = std::move(fits).value();
    return out;
}

const CommandRow kFitCommand{
    "fit", "fits friction, running factor, stiffness and damping to what trials showed",
    "stepper_sim fit configs/machines/tray-printer.toml configs/trials/tray-printer-y.toml",
    kOptions, run};

}  // namespace stepper_sim::cli
