#include "stepper_sim/report/parts_text.hpp"

#include <fmt/core.h>

#include <filesystem>
#include <vector>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/report.hpp"
#include "stepper_sim/report/json_text.hpp"
#include "stepper_sim/report/layout.hpp"
#include "stepper_sim/report/version.hpp"

namespace stepper_sim::report {

namespace {

using Row = std::vector<std::string>;

constexpr std::string_view kMissing = "-";

template <class Q>
std::string text_of(const std::optional<Q>& quantity) {
    return quantity ? planner::format_quantity(*quantity, 3) : std::string(kMissing);
}

template <class Q>
Json number_of(const std::optional<Q>& quantity) {
    return quantity ? Json(quantity->value()) : Json(nullptr);
}

std::string_view basis_word(machine::CurrentBasis basis) {
    return basis == machine::CurrentBasis::rms    ? "RMS"
           : basis == machine::CurrentBasis::peak ? "peak"
                                                  : "not stated";
}

/// Amperes and what they mean: "1.2 RMS"; "(?)" where the maker does not say.
std::string current_text(const machine::RatedCurrent& current) {
    return fmt::format("{} {}", planner::format_number(current.value.value(), 3),
                       current.basis == machine::CurrentBasis::not_stated
                           ? std::string_view("(?)")
                           : basis_word(current.basis));
}

/// A column whose unit stands in its head: the value in `unit` (SI).
std::string number_in(const auto& quantity, double unit) {
    return planner::format_number(quantity.value() / unit, 3);
}
template <class Q>
std::string number_in(const std::optional<Q>& quantity, double unit) {
    return quantity ? number_in(*quantity, unit) : std::string(kMissing);
}
constexpr double kMilli = 1e-3, kKilo = 1e3, kGram_cm2 = 1e-7;  // exact

Json current_json(const machine::RatedCurrent& current) {
    return {{"value_A", current.value.value()}, {"basis", basis_word(current.basis)}};
}

// One head, one row and one JSON object for each kind of part.

constexpr std::string_view kMotorLegend =
    "frame: NEMA size; A: rated current, (?) where its maker does not say RMS or peak; curves: "
    "published torque curves";
const Row kMotorHead{"motors/", "frame", "N m", "A", "ohm", "mH", "g cm^2", "curves"};
Row row_of(const machine::MotorPart& motor) {
    return {std::to_string(motor.frame),         number_in(motor.holding_torque, 1.0),
            current_text(motor.rated_current),   number_in(motor.resistance, 1.0),
            number_in(motor.inductance, kMilli), number_in(motor.rotor_inertia, kGram_cm2),
            std::to_string(motor.curves.size())};
}
Json json_of(const machine::MotorPart& motor) {
    return {{"frame", motor.frame},
            {"steps_per_turn", motor.steps_per_turn},
            {"holding_torque_Nm", motor.holding_torque.value()},
            {"rated_current", current_json(motor.rated_current)},
            {"resistance_ohm", number_of(motor.resistance)},
            {"inductance_H", number_of(motor.inductance)},
            {"rotor_inertia_kg_m2", number_of(motor.rotor_inertia)},
            {"curves", motor.curves.size()}};
}

const Row kDriverHead{"drivers/", "kHz", "high", "low", "set-up", "hold", "V", "A"};
Row row_of(const machine::DriverPart& driver) {
    return {
        planner::format_number(driver.step_rate_max.value() / kKilo, 4),
        planner::format_quantity(driver.step_high_min, 3),
        planner::format_quantity(driver.step_low_min, 3),
        text_of(driver.setup_min),
        text_of(driver.hold_min),
        fmt::format("{}-{}", number_in(driver.supply_min, 1.0), number_in(driver.supply_max, 1.0)),
        driver.current_max ? current_text(*driver.current_max) : std::string(kMissing)};
}
Json json_of(const machine::DriverPart& driver) {
    return {{"step_rate_max_hz", driver.step_rate_max.value()},
            {"step_rate_stated", driver.step_rate_stated},
            {"step_high_min_s", driver.step_high_min.value()},
            {"step_low_min_s", driver.step_low_min.value()},
            {"setup_min_s", number_of(driver.setup_min)},
            {"hold_min_s", number_of(driver.hold_min)},
            {"supply_min_V", driver.supply_min.value()},
            {"supply_max_V", driver.supply_max.value()},
            {"current_max", driver.current_max ? current_json(*driver.current_max) : Json(nullptr)},
            {"microsteps", driver.microsteps}};
}

const Row kControllerHead{"controllers/", "style", "clock", "tick", "pulse", "set-up", "hold"};
Row row_of(const machine::ControllerPart& controller) {
    const auto rate = [](std::int64_t hz) {
        return planner::format_quantity(
            planner::from_si<planner::Frequency>(static_cast<double>(hz)), 4);
    };
    return {std::string(check::to_word(controller.style)),
            rate(controller.clock_hz),
            rate(controller.tick_hz),
            planner::format_quantity(controller.pulse_high, 3),
            planner::format_quantity(controller.direction_setup, 3),
            planner::format_quantity(controller.direction_hold, 3)};
}
Json json_of(const machine::ControllerPart& controller) {
    return {{"style", check::to_word(controller.style)},
            {"clock_hz", controller.clock_hz},
            {"tick_hz", controller.tick_hz},
            {"pulse_high_s", controller.pulse_high.value()},
            {"direction_setup_s", controller.direction_setup.value()},
            {"direction_hold_s", controller.direction_hold.value()},
            {"processor_share", controller.processor_share}};
}

template <class Part>
std::string text_of(const std::vector<machine::CatalogueEntry<Part>>& entries, const Row& head,
                    std::string_view legend, bool sources) {
    std::vector<Row> rows{head};
    std::string source_text;
    for (const machine::CatalogueEntry<Part>& entry : entries) {
        if (!entry.part) continue;
        const Part& part = entry.part.value();
        Row row = row_of(part);
        row.insert(row.begin(), std::filesystem::path(entry.name).stem().string());
        rows.push_back(std::move(row));
        source_text += "  " + wrapped(fmt::format("{}: {} ({})", entry.name, part.source.document,
                                                  machine::to_word(part.source.known)),
                                      4, 2);
    }
    std::string out = table(rows);
    if (!legend.empty()) out += wrapped(legend, 0, 0);
    return sources ? out + source_text : out;
}

template <class Part>
Json json_list(const std::vector<machine::CatalogueEntry<Part>>& entries) {
    Json all = Json::array();
    for (const machine::CatalogueEntry<Part>& entry : entries) {
        if (!entry.part) continue;
        const Part& part = entry.part.value();
        Json object = json_of(part);
        object["name"] = part.name;
        object["file"] = entry.name;
        object["source"] = {{"document", part.source.document},
                            {"known", machine::to_word(part.source.known)},
                            {"note", part.source.note}};
        all.push_back(std::move(object));
    }
    return all;
}

}  // namespace

std::string parts_text(const machine::Catalogue& catalogue, std::string_view kind, bool sources) {
    std::string out;
    const auto add = [&](std::string_view own, const auto& entries, const Row& head,
                         std::string_view legend) {
        if (!kind.empty() && kind != own) return;
        if (!out.empty()) out += '\n';
        out += text_of(entries, head, legend, sources);
    };
    add("motors", catalogue.motors, kMotorHead, kMotorLegend);
    add("drivers", catalogue.drivers, kDriverHead, {});
    add("controllers", catalogue.controllers, kControllerHead, {});
    return out;
}

std::string parts_json(const machine::Catalogue& catalogue, std::string_view kind) {
    Json out{{"schema", "stepper_sim.parts.1"}, {"version", kVersion}};
    const auto add = [&](const char* own, const auto& entries) {
        if (kind.empty() || kind == own) out[own] = json_list(entries);
    };
    add("motors", catalogue.motors);
    add("drivers", catalogue.drivers);
    add("controllers", catalogue.controllers);
    return json_text(out);
}

}  // namespace stepper_sim::report
