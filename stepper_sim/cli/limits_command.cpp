#include <array>
#include <nlohmann/json.hpp>
#include <optional>

#include "planner/units/units_text.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/limits_text.hpp"
#include "stepper_sim/cli/proposal.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/text_file.hpp"
#include "stepper_sim/report/version.hpp"
#include "stepper_sim/tune/settings_text.hpp"

namespace stepper_sim::cli {

namespace {

using Json = nlohmann::ordered_json;

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"PROGRAM", "FILE", "G-code programs that must hold too", false, true},
    kMarginOption,
    {"--write", "FILE", "write a copy of the machine file with the values with margin", false,
     false},
    kJsonOption,
    kCatalogueOption,
});

Json json_of(const SettingLimit& setting) {
    return {{"now", setting.present},
            {"just_holds", setting.just_holds},
            {"with_margin", setting.with_margin},
            {"binds", to_word(setting.binds)},
            {"binds_with_margin", to_word(setting.binds_with_margin)},
            {"why", setting.why},
            {"why_with_margin", setting.why_with_margin}};
}

Json json_of(const TimeValue& value) {
    Json worths = Json::array();
    for (const SettingWorth& worth : value.worths)
        worths.push_back({{"axis", std::string(1, static_cast<char>(worth.letter | 0x20))},
                          {"setting", to_word(worth.setting)},
                          {"now", worth.now},
                          {"wanted", worth.wanted},
                          {"duration_s", worth.duration_s}});
    return {{"now_s", value.now_s},
            {"with_margin_s", value.wanted_s},
            {"settings", worths},
            {"scales", kTimeScales},
            {"acceleration_by_speed_s", value.grid_s},
            {"speed_knee", value.speed_knee},
            {"acceleration_knee", value.acceleration_knee}};
}

std::string to_json(const Machine& machine, const Limits& limits,
                    const std::optional<TimeValue>& worth, const Invocation& invocation) {
    Json out{{"schema", "stepper_sim.limits.1"},
             {"version", kVersion},
             {"machine", {{"name", machine.name}, {"file", machine.file}}},
             {"programs", invocation.all("PROGRAM")},
             {"margin", limits.margin},
             {"clear", limits.clear},
             {"why_not_clear", limits.why_not_clear}};
    for (const AxisLimits& axis : limits.axes) {
        Json of_axis{{"holds", axis.holds},
                     {"keeps_margin", axis.keeps_margin},
                     {"why_not", axis.why_not},
                     {"max_speed_m_s", json_of(axis.speed)},
                     {"max_acceleration_m_s2", json_of(axis.acceleration)},
                     {"speed_step_m_s", axis.step ? json_of(*axis.step) : Json(nullptr)}};
        out["axes"][std::string(1, static_cast<char>(axis.letter | 0x20))] = std::move(of_axis);
    }
    out["change"] = setting_lines(with_margin(machine, limits), machine);
    out["time"] = worth ? json_of(*worth) : Json(nullptr);
    return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

bool write_machine(const Machine& machine, const Limits& limits, const Invocation& invocation) {
    const auto text = reading::read_text_file(invocation.text("MACHINE"));
    if (!text) {
        print_diagnostics(text.diagnostics());
        return false;
    }
    const auto changed =
        with_settings(text.value(), machine.file, with_margin(machine, limits), machine);
    if (!changed) {
        print_diagnostics(changed.diagnostics());
        return false;
    }
    return write_file(invocation.text("--write"), changed.value());
}

Exit run(const Invocation& invocation) {
    const auto margin = margin_of(invocation);
    const auto machine = machine_of(invocation);
    if (!margin || !machine) return Exit::unusable;
    const auto proposal = propose(*machine, *margin, invocation);
    if (!proposal) return Exit::unusable;
    const auto& [limits, worth] = *proposal;
    if (invocation.has("--write") && !write_machine(*machine, limits, invocation))
        return Exit::unusable;
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), to_json(*machine, limits, worth, invocation)))
        return Exit::unusable;
    if (!json_to_output(invocation) && invocation.text("--write") != "-" &&
        !print(limits_text(*machine, limits) + (worth ? worth_text(*worth) : "")))
        return Exit::unusable;
    return limits.clear ? Exit::good : Exit::fault;
}

}  // namespace

const CommandRow kLimitsCommand{
    "limits", "highest speed, acceleration and speed step of each axis that hold, and what binds",
    "stepper_sim limits configs/machines/tray-printer.toml configs/programs/wedge-marker.gcode",
    kOptions, run};

}  // namespace stepper_sim::cli
