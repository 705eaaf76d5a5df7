/// A TOML document as plain structs that remember where every value stands. The one door to the
/// TOML library: no other file sees it. Not a general document model: dates are only known to be
/// dates, and comments are dropped. Read next: field_reader.hpp.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"

namespace stepper_sim::machine::reading {

struct Field;

struct Node {
    enum class Kind : std::uint8_t { boolean, whole, real, text, array, table, date };

    Kind kind = Kind::table;
    bool truth = false;
    std::int64_t whole = 0;
    double real = 0.0;
    std::string text;
    std::vector<Node> items;    // of an array
    std::vector<Field> fields;  // of a table, by name

    std::shared_ptr<const std::string> file;
    std::uint64_t line = 0, column = 0;

    planner::Place place() const { return {file ? *file : std::string(), line, column}; }
};

struct Field {
    std::string name;
    planner::Place place;
    Node value;
};

/// The field of a table, or null.
const Node* find_field(const Node& table, std::string_view name);

/// What stands there, for messages: a text as written, "a table", "true", "12".
std::string shown(const Node& node);

/// The root table of `text`. `file` is the name that diagnostics carry.
/// Errors: machine/not-toml (syntax, text that is not UTF-8, more than 32 levels of nesting); the
/// library stops at the first.
planner::Result<Node> parse_toml(std::string_view text, const std::string& file);

}  // namespace stepper_sim::machine::reading
