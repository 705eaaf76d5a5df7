/// TOML tables to parts. Private to stepper_sim/machine: read_parts.hpp and read_machine.hpp are
/// the ways in. Every function reads its whole table, adds what is wrong to `faults` and returns
/// what it could read.
#pragma once

#include <optional>
#include <string>

#include "stepper_sim/machine/field_reader.hpp"
#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::machine::reading {

/// `path` names the table in messages: "" for a part file, "axes.x.motor" for an inline part.
MotorPart motor_from(const Node& table, const std::string& path, Faults& faults);
DriverPart driver_from(const Node& table, const std::string& path, Faults& faults);
ControllerPart controller_from(const Node& table, const std::string& path, Faults& faults);

/// The two ways to write a current, with the value of `written` where it has one, for messages.
std::string current_forms(const Node* written);

/// A current with its basis, { rms = ... } or { peak = ... }, or without: { not_stated = ... } or just a text.
/// Errors: machine/one-of, machine/wrong-type, and those of value_of.
std::optional<RatedCurrent> current_from(FieldReader& reader, std::string_view key);

/// The [source] of a part or curve, if it has one.
std::optional<Source> source_from(FieldReader& reader);

/// Two quantities in a list, such as ["0 mm", "300 mm"]; the first must be below the second.
/// Errors: machine/wrong-type, machine/conflict, and those of value_of.
template <class Q>
std::optional<std::pair<Q, Q>> span_from(FieldReader& reader, std::string_view key,
                                         const Range& range) {
    const Node* node = reader.list(key);
    if (node == nullptr) {
        return std::nullopt;
    }
    const std::string name = reader.full_name(key);
    if (node->items.size() != 2) {
        reader.faults().add({"machine/wrong-type", node->place(),
                             "a list of " + std::to_string(node->items.size()),
                             "a list of two, lowest and highest, for " + name, ""});
        return std::nullopt;
    }
    const std::optional<Q> low = value_of<Q>(node->items[0], range, name, reader.faults());
    const std::optional<Q> high = value_of<Q>(node->items[1], range, name, reader.faults());
    if (!low || !high) {
        return std::nullopt;
    }
    if (!(*low < *high)) {
        reader.faults().add({"machine/conflict", node->place(),
                             shown(node->items[0]) + " to " + shown(node->items[1]),
                             "a lowest value below the highest for " + name, ""});
        return std::nullopt;
    }
    return std::pair<Q, Q>(*low, *high);
}

}  // namespace stepper_sim::machine::reading
