#include <fmt/core.h>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"

namespace stepper_sim {

namespace {

// Chopper supply against the coil's own voltage I R: at least 2, best 4 to 22, at most 25 times.
// Source: Trinamic QSH4218 manual, table 6.2 (read).
constexpr double kLeastRatio = 2.0, kMostRatio = 25.0;

std::string volts(planner::Voltage voltage) { return planner::format_quantity(voltage, 3); }

void add(const Axis& axis, Grade grade, planner::Voltage limit, std::string message, Findings& findings) {
    Finding finding = words::about("supply-voltage", grade, axis);
    finding.value = axis.supply.value();
    finding.limit = limit.value();
    finding.unit = "V";
    finding.message = std::move(message);
    findings.push_back(std::move(finding));
}

}  // namespace

void check_supply_voltage(const CheckInput& input, Findings& findings) {
    for (const Axis& axis : input.machine.axes) {
        if (axis.supply > axis.driver.supply_max)
            add(axis, Grade::fault, axis.driver.supply_max,
                fmt::format("{}: {} supply is above the {} that driver {} withstands", axis.letter, volts(axis.supply),
                            volts(axis.driver.supply_max), axis.driver.name), findings);
        if (axis.supply < axis.driver.supply_min)
            add(axis, Grade::fault, axis.driver.supply_min,
                fmt::format("{}: {} supply is below the {} that driver {} needs", axis.letter, volts(axis.supply),
                            volts(axis.driver.supply_min), axis.driver.name), findings);
        if (axis.motor.max_supply && axis.supply > *axis.motor.max_supply)
            add(axis, Grade::fault, *axis.motor.max_supply,
                fmt::format("{}: {} supply is above the {} that motor {} is rated for", axis.letter, volts(axis.supply),
                            volts(*axis.motor.max_supply), axis.motor.name), findings);
        if (!axis.motor.resistance) continue;
        const planner::Voltage coil = axis.motor.rated_current.rms() * *axis.motor.resistance;
        const double ratio = axis.supply / coil;
        if (ratio < kLeastRatio)
            add(axis, Grade::note, coil * kLeastRatio,
                fmt::format("{}: {} supply is only {} times the coil's {}; torque falls off early (makers advise 4 to 22 times)",
                            axis.letter, volts(axis.supply), planner::format_number(ratio, 2), volts(coil)), findings);
        if (ratio > kMostRatio)
            add(axis, Grade::note, coil * kMostRatio,
                fmt::format("{}: {} supply is {} times the coil's {}; switching heats the motor (makers advise 4 to 22 times)",
                            axis.letter, volts(axis.supply), planner::format_number(ratio, 2), volts(coil)), findings);
    }
}

}  // namespace stepper_sim
