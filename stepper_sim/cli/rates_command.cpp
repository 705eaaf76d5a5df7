#include <fmt/core.h>

#include <array>

#include <nlohmann/json.hpp>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/text.hpp"
#include "stepper_sim/report/version.hpp"
#include "stepper_sim/run/ceilings.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"--speed", "SPEED",
     "axis speed to judge, such as \"200 mm/s\"; default: each axis's top speed", false, false},
    kJsonOption,
    kCatalogueOption,
});

struct Row {
    const Axis& axis;
    Ceilings ceilings;
    double speed_m_s, rate_hz, highest_m_s;
};

std::string to_text(const std::vector<Row>& rows, bool crossed) {
    std::vector<std::vector<std::string>> lines{{"axis", "speed", "step rate", "driver",
                                                 "controller", "tick", "pulse limit",
                                                 "limited by"}};
    for (const Row& row : rows)
        lines.push_back({std::string(1, row.axis.letter), words::mm_s(row.speed_m_s),
                         words::rate(row.rate_hz), words::rate(row.ceilings.driver_hz),
                         words::rate(row.ceilings.controller_hz), words::rate(row.ceilings.tick_hz),
                         words::mm_s(row.highest_m_s), std::string(row.ceilings.binding())});
    std::string out = table(lines);
    for (const Row& row : rows)
        if (row.rate_hz > row.ceilings.lowest_hz())
            out += fmt::format("{}: {} is too fast for the {}\n", row.axis.letter,
                               words::mm_s(row.speed_m_s), row.ceilings.binding());
    if (crossed)
        out += wrapped(
            "X and Y: speed along the belt; a move along both at once adds their speeds on one "
            "motor.",
            0, 0);
    return out;
}

std::string to_json(const std::vector<Row>& rows, const Machine& machine) {
    nlohmann::ordered_json out{{"schema", "stepper_sim.rates.1"},
                               {"version", kVersion},
                               {"machine", {{"name", machine.name}, {"file", machine.file}}}};
    for (const Row& row : rows)
        out["axes"][std::string(1, static_cast<char>(row.axis.letter | 0x20))] = {
            {"speed_m_s", row.speed_m_s},
            {"step_rate_hz", row.rate_hz},
            {"driver_ceiling_hz", row.ceilings.driver_hz},
            {"controller_ceiling_hz", row.ceilings.controller_hz},
            {"tick_ceiling_hz", row.ceilings.tick_hz},
            {"highest_speed_m_s", row.highest_m_s},
            {"binds", row.ceilings.binding()},
            {"holds", row.rate_hz <= row.ceilings.lowest_hz()}};
    return out.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

Exit run(const Invocation& invocation) {
    const auto machine = machine_of(invocation);
    std::optional<planner::Speed> speed;
    if (invocation.has("--speed")) {
        auto parsed =
            planner::parse_quantity<planner::Speed>(invocation.text("--speed"), {"--speed", 0, 0});
        if (!parsed) {
            print_diagnostics(parsed.diagnostics());
            return Exit::unusable;
        }
        speed = parsed.value();
        if (!(speed->value() > 0.0)) {
            print_error("--speed: expected a speed above zero");
            return Exit::unusable;
        }
    }
    if (!machine) return Exit::unusable;
    std::vector<Row> rows;
    bool over = false;
    for (const Axis& axis : machine->axes) {
        const double speed_m_s = speed.value_or(axis.settings.max_speed).value();
        rows.push_back({axis, ceilings_of(*machine, axis), speed_m_s, step_rate_hz(axis, speed_m_s),
                        ceiling_speed_m_s(*machine, axis)});
        over = over || rows.back().rate_hz > rows.back().ceilings.lowest_hz();
    }
    if (invocation.has("--json") && !write_file(invocation.text("--json"), to_json(rows, *machine)))
        return Exit::unusable;
    if (!json_to_output(invocation) &&
        !print(with_caution(
            to_text(rows, planner::shares_motors(machine->kinematics, machine->program.axes)))))
        return Exit::unusable;
    return over ? Exit::fault : Exit::good;
}

}  // namespace

const CommandRow kRatesCommand{
    "rates",
    "step rate of each axis at a speed against every ceiling, and the top speed each allows",
    "stepper_sim rates configs/machines/tray-printer.toml --speed \"200 mm/s\"", kOptions, run};

}  // namespace stepper_sim::cli
