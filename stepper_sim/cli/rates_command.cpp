#include <array>

#include "planner/units/units_text.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/report/rates_text.hpp"
#include "stepper_sim/report/text.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    kMachineOption,
    {"--speed", "SPEED",
     "axis speed to judge, such as \"200 mm/s\"; default: each axis's top speed", false, false},
    kJsonOption,
    kCatalogueOption,
});

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
    std::vector<report::RateRow> rows;
    bool over = false;
    for (const machine::Axis& axis : machine->axes) {
        const double speed_m_s = speed.value_or(axis.settings.max_speed).value();
        rows.push_back({axis, run::ceilings_of(*machine, axis), speed_m_s,
                        run::step_rate_hz(axis, speed_m_s),
                        run::ceiling_speed_m_s(*machine, axis)});
        over = over || rows.back().rate_hz > rows.back().ceilings.lowest_hz();
    }
    if (invocation.has("--json") &&
        !write_file(invocation.text("--json"), report::rates_json(rows, *machine)))
        return Exit::unusable;
    if (!json_to_output(invocation) &&
        !print(report::with_caution(report::rates_text(
            rows, planner::shares_motors(machine->kinematics, machine->program.axes)))))
        return Exit::unusable;
    return over ? Exit::fault : Exit::good;
}

}  // namespace

const CommandRow kRatesCommand{
    "rates",
    "step rate of each axis at a speed against every ceiling, and the top speed each allows",
    "stepper_sim rates configs/machines/tray-printer.toml --speed \"200 mm/s\"", kOptions, run};

}  // namespace stepper_sim::cli
