#include <fmt/core.h>

#include <optional>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/motor/electrical.hpp"

namespace stepper_sim::check {

namespace {

std::string volts(const planner::Voltage& voltage) {
    return planner::format_quantity(voltage, 3);
}

void add(const machine::Axis& axis, Grade grade, const planner::Voltage& limit, std::string message,
         Findings& findings) {
    Finding finding = words::about("supply-voltage", grade, axis);
    finding.value = axis.supply.value();
    finding.limit = limit.value();
    finding.unit = "V";
    finding.message = std::move(message);
    findings.push_back(std::move(finding));
}

}  // namespace

void check_supply_voltage(const CheckInput& input, Findings& findings) {
    for (const machine::Axis& axis : input.machine.axes) {
        if (axis.supply > axis.driver.supply_max)
            add(axis, Grade::fault, axis.driver.supply_max,
                fmt::format("{}: {} supply is above the {} that driver {} withstands", axis.letter,
                            volts(axis.supply), volts(axis.driver.supply_max), axis.driver.name),
                findings);
        if (axis.supply < axis.driver.supply_min)
            add(axis, Grade::fault, axis.driver.supply_min,
                fmt::format("{}: {} supply is below the {} that driver {} needs", axis.letter,
                            volts(axis.supply), volts(axis.driver.supply_min), axis.driver.name),
                findings);
        if (axis.motor.max_supply && axis.supply > *axis.motor.max_supply)
            add(axis, Grade::fault, *axis.motor.max_supply,
                fmt::format("{}: {} supply is above the {} that motor {} is rated for", axis.letter,
                            volts(axis.supply), volts(*axis.motor.max_supply), axis.motor.name),
                findings);
        const std::optional<motor::SupplyRule> rule = motor::supply_rule(axis.motor, axis.supply);
        if (!rule || (rule->grade != motor::SupplyGrade::too_low &&
                      rule->grade != motor::SupplyGrade::too_high))
            continue;
        const bool low = rule->grade == motor::SupplyGrade::too_low;
        const planner::Voltage coil = axis.supply / rule->ratio;
        add(axis, Grade::note, coil * (low ? motor::kSupplyRatioMin : motor::kSupplyRatioMax),
            fmt::format("{}: {} supply is {} times the coil's {}; {} (makers advise 4 to 22 times)",
                        axis.letter, volts(axis.supply), planner::format_number(rule->ratio, 2),
                        volts(coil), low ? "torque falls off early" : "switching heats the motor"),
            findings);
    }
}

}  // namespace stepper_sim::check
