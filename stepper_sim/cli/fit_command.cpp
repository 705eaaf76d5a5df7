#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "planner/units/units_text.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/fit_text.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/sheets.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/machine/text_file.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::cli {

namespace {

using Json = nlohmann::ordered_json;

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"SHEET", "FILE", "filled sheets of trials, all of this machine's", true, true},
    {"--write", "FILE", "write a copy of the machine file with the fitted values", false, false},
    kJsonOption,
    kCatalogueOption,
});

Json json_of(const Estimate& estimate, const TrialPrior& prior) {
    const auto one = [&](Unknown unknown) {
        return Json{{"factor", std::exp(estimate.value[unknown])},
                    {"spread", estimate.spread(unknown)}};
    };
    const char* spring = is_rigid(prior.nominal) ? "mass" : "stiffness";
    return {{"friction", one(kFrictionUnknown)},
            {"running_factor", one(kTorqueUnknown)},
            {spring, one(kSpringUnknown)},
            {"damping", one(kDampingUnknown)}};
}

Json json_of(const SheetFit& sheet) {
    const auto one = [](const Prediction& p, double spread) {
        return Json{{"value", p.value}, {"spread", spread}, {"loss_within_reach", p.slips}};
    };
    return {{"file", sheet.file},
            {"raise", to_word(sheet.motion.question)},
            {"expected_before", one(sheet.before, sheet.spread_before)},
            {"expected_now", one(sheet.after, sheet.spread_after)}};
}

std::string to_json(const Machine& machine, std::span<const AxisFit> fits,
                    std::span<const FittedValue> values) {
    Json out{{"schema", "stepper_sim.fit.1"},
             {"version", kVersion},
             {"machine", {{"name", machine.name}, {"file", machine.file}}},
             {"axes", Json::object()},
             {"values", Json::array()}};
    for (const AxisFit& fit : fits) {
        Json sheets = Json::array();
        for (const SheetFit& sheet : fit.sheets)
            sheets.push_back(json_of(sheet));
        out["axes"][std::string(1, static_cast<char>(fit.letter | 0x20))] = {
            {"before", json_of(fit.before, fit.prior)},
            {"after", json_of(fit.after, fit.prior)},
            {"far_off", fit.far_off},
            {"sheets", sheets}};
    }
    for (const FittedValue& value : values)
        out["values"].push_back({{"axis", std::string(1, value.letter)},
                                 {"key", value.key},
                                 {"value", value.value},
                                 {"before", value.before},
                                 {"source", value.source}});
    return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

/// The copy is read back before it is written: what this tool writes it can use.
bool write_machine(const Machine& machine, std::span<const FittedValue> values,
                   const Invocation& invocation) {
    const auto text = reading::read_text_file(invocation.text("MACHINE"));
    if (!text) {
        print_diagnostics(text.diagnostics());
        return false;
    }
    const auto changed = with_fitted(text.value(), machine.file, values);
    if (!changed) {
        print_diagnostics(changed.diagnostics());
        return false;
    }
    const auto again =
        read_machine_text(changed.value(), machine.file, catalogue_folders(invocation));
    if (!again) {
        print_diagnostics(again.diagnostics());
        return false;
    }
    return write_file(invocation.text("--write"), changed.value());
}

Exit run(const Invocation& invocation) {
    const auto machine = machine_of(invocation);
    if (!machine) return Exit::unusable;
    const MotorModels models = motor_models(*machine);
    const auto fits = fits_of(*machine, models, invocation.all("SHEET"));
    if (!fits) return Exit::unusable;
    const std::vector<FittedValue> values = fitted_values(*machine, models, *fits);
    if (invocation.has("--write") && !write_machine(*machine, values, invocation))
        return Exit::unusable;
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), to_json(*machine, *fits, values)))
        return Exit::unusable;
    if (!json_to_output(invocation) && invocation.text("--write") != "-" &&
        !print(fit_text(*machine, *fits, values)))
        return Exit::unusable;
    return Exit::good;
}

}  // namespace

std::optional<std::vector<AxisFit>> fits_of(const Machine& machine, const MotorModels& models,
                                            const std::vector<std::string>& files) {
    std::vector<TrialSheet> sheets;
    bool good = true;
    for (const std::string& file : files) {
        auto sheet = read_sheet(file, machine);
        if (sheet)
            sheets.push_back(std::move(sheet).value());
        else
            print_diagnostics(sheet.diagnostics());
        good = good && static_cast<bool>(sheet);
    }
    if (!good) return std::nullopt;
    auto fits = fit(machine, models, sheets);
    if (fits) return std::move(fits).value();
    print_diagnostics(fits.diagnostics());
    return std::nullopt;
}

const CommandRow kFitCommand{
    "fit", "fits friction, running factor, stiffness and damping to what trials showed",
    "stepper_sim fit configs/machines/tray-printer.toml configs/trials/tray-printer-y.toml",
    kOptions, run};

}  // namespace stepper_sim::cli
