#include <algorithm>
#include <array>

#include "stepper_sim/machine/bounds.hpp"
#include "stepper_sim/machine/part_tables.hpp"

namespace stepper_sim::machine::reading {
namespace {

constexpr double kMaxPulse_s = 0.1;
constexpr double kMaxStepRate_Hz = 1e8;
constexpr int kMaxMicrosteps = 65536;

/// The stated ceiling of the step rate, else what the shortest pulse allows.
void read_step_rate(FieldReader& reader, DriverPart& driver) {
    const auto rate =
        reader.maybe<planner::Frequency>("step_rate_max", above_zero_to(kMaxStepRate_Hz));
    const auto stated = reader.maybe<bool>("step_rate_stated");
    driver.step_rate_stated = rate && stated.value_or(true);
    if (stated.value_or(false) && !reader.has("step_rate_max")) {
        reader.faults().add({"machine/conflict", reader.find("step_rate_stated")->place(), "true",
                             "the stated rate as step_rate_max", ""});
    }
    // Where every edge is a step, the longer of the two times bounds evenly spaced steps.
    const planner::Time shortest = driver.both_edges
                                       ? std::max(driver.step_high_min, driver.step_low_min)
                                       : driver.step_high_min + driver.step_low_min;
    if (rate) {
        driver.step_rate_max = *rate;
    } else if (shortest.value() > 0.0) {
        driver.step_rate_max = 1.0 / shortest;
    }
}

void read_microsteps(FieldReader& reader, DriverPart& driver) {
    if (reader.require("microsteps") == nullptr) {
        return;
    }
    const Node* list = reader.list("microsteps");
    if (list == nullptr) {
        return;
    }
    const std::string name = reader.full_name("microsteps");
    for (const Node& item : list->items) {
        const auto count = value_of<int>(item, from_to(1, kMaxMicrosteps), name, reader.faults());
        if (count) {
            driver.microsteps.push_back(*count);
        }
    }
    if (list->items.empty()) {
        reader.faults().add({"machine/out-of-range", list->place(), "an empty list",
                             "at least one number for " + name, ""});
    }
}

}  // namespace

DriverPart driver_from(const Node& table, const std::string& path, Faults& faults) {
    FieldReader reader(table, path, faults);
    DriverPart driver;
    driver.name = reader.need<std::string>("name");
    driver.maker = reader.value_or<std::string>("maker", "");
    driver.step_high_min = reader.need<planner::Time>("step_high_min", above_zero_to(kMaxPulse_s));
    driver.step_low_min = reader.need<planner::Time>("step_low_min", above_zero_to(kMaxPulse_s));
    driver.setup_min = reader.maybe<planner::Time>("setup_min", zero_to(kMaxPulse_s));
    driver.hold_min = reader.maybe<planner::Time>("hold_min", zero_to(kMaxPulse_s));
    driver.both_edges = reader.value_or<bool>("both_edges", false);
    read_step_rate(reader, driver);
    if (reader.require("supply") != nullptr) {
        const auto supply = span_from<planner::Voltage>(reader, "supply", zero_to(kMaxSupply_V));
        if (supply) {
            std::tie(driver.supply_min, driver.supply_max) = *supply;
        }
    }
    driver.current_max = current_from(reader, "current_max");
    read_microsteps(reader, driver);
    const auto regulators = std::to_array<std::string>({"sine", "chopper"});
    reader.require("regulator");
    driver.regulator =
        reader.choice("regulator", regulators) == 0U ? Regulator::sine : Regulator::chopper;
    driver.source = source_from(reader).value_or(Source{});
    reader.finish();
    return driver;
}

}  // namespace stepper_sim::machine::reading
