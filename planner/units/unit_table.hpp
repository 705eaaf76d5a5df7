/// The units that text may carry, one table per kind of quantity. Private to planner/units: readers
/// and writers of text share it. A new unit is one row here. What counts as the same spelling ("N
/// m", "Nm", "N*m") is decided by find_unit().
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace planner::unit_table {

enum class Kind : std::uint8_t {
    length,
    time,
    speed,
    acceleration,
    mass,
    force,
    stiffness,
    frequency,
    angle,
    angular_speed,
    torque,
    inertia,
    current,
    voltage,
    resistance,
    inductance,
};
inline constexpr std::size_t kKindCount = 16;

/// SI value = number * multiply / divide. Two whole numbers, so that "2 mm" is exactly the double
/// 0.002.
struct Unit {
    std::string_view text;  // ' ' stands for an optional product sign, '^' may be left out
    double multiply = 1.0;
    double divide = 1.0;
    bool inverse = false;  // so many to the length: SI value = multiply / divide / number
};

/// From this magnitude on (SI) this unit is the one a person would choose.
struct Choice {
    double from_si = 0.0;
    std::string_view unit;
};

struct KindRow {
    std::string_view name;            // with its article: "a length"
    std::string_view example;         // "8 mm"
    std::span<const Unit> units;      // the first is the one that zero is written in
    std::span<const Choice> choices;  // falling; the last one starts at 0
};

const KindRow& row(Kind kind);

/// The unit of `kind` spelt by `text`, or null. Also accepted: a product written as "", " ", "*" or
/// the middle dot, a power without its '^' or as a superscript two, the micro sign for 'u' and the
/// ohm sign for "ohm". Case matters.
const Unit* find_unit(Kind kind, std::string_view text);

/// The first kind that has a unit spelt so, or null.
const KindRow* find_kind(std::string_view text);

}  // namespace planner::unit_table
