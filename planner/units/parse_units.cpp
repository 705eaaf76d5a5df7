#include <charconv>
#include <cmath>

#include "planner/units/kind_of.hpp"
#include "planner/units/units_text.hpp"

namespace planner {
namespace {

using unit_table::Kind;
using unit_table::KindRow;

std::string_view trimmed(std::string_view text) {
    constexpr std::string_view kBlanks = " \t\r\n";
    const std::size_t first = text.find_first_not_of(kBlanks);
    if (first == std::string_view::npos) {
        return {};
    }
    return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

std::string described(const KindRow& row) {
    return std::string(row.name) + " such as \"" + std::string(row.example) + '"';
}

Diagnostic fault(std::string id, const Place& place, std::string_view text, std::string expected,
                 std::string hint = {}) {
    return {std::move(id), place, printable(text), std::move(expected), std::move(hint)};
}

struct NumberText {
    double value = 0.0;
    std::string_view rest;
};

Result<NumberText> read_number(std::string_view text, const Place& place,
                               const std::string& expected) {
    std::string_view digits = text;
    if (digits.starts_with('+') && !digits.starts_with("+-")) {
        digits.remove_prefix(1);
    }
    NumberText number;
    const auto [end, error] =
        std::from_chars(digits.data(), digits.data() + digits.size(), number.value);
    if (error == std::errc::invalid_argument) {
        return fault("units/no-number", place, text, expected);
    }
    if (error == std::errc::result_out_of_range || !std::isfinite(number.value)) {
        return fault("units/not-finite", place, text, expected,
                     "the number must be finite and of a size that a computer can hold");
    }
    number.rest = digits.substr(static_cast<std::size_t>(end - digits.data()));
    return number;
}

std::string known_units(const KindRow& row) {
    std::string list = "units known here: ";
    for (const unit_table::Unit& unit : row.units) {
        if (unit.text.data() != row.units.front().text.data()) {
            list += ", ";
        }
        list += unit.text;
    }
    return list;
}

Diagnostic wrong_unit(const KindRow& row, std::string_view text, std::string_view unit,
                      const Place& place) {
    if (const KindRow* other = unit_table::find_kind(unit)) {
        return fault("units/wrong-kind", place, text, described(row),
                     "'" + std::string(unit) + "' is the unit of " + std::string(other->name));
    }
    if (unit.starts_with(',')) {
        return fault("units/unknown-unit", place, text, described(row),
                     "write a decimal point, not a comma");
    }
    return fault("units/unknown-unit", place, text, described(row), known_units(row));
}

Result<double> parse_si(Kind kind, std::string_view whole, const Place& place) {
    const KindRow& row = unit_table::row(kind);
    const std::string_view text = trimmed(whole);
    const Result<NumberText> number = read_number(text, place, described(row));
    if (!number) {
        return number.diagnostics();
    }
    const std::string_view unit_text = trimmed(number.value().rest);
    if (unit_text.empty()) {
        return fault("units/no-unit", place, text, described(row), "add the unit");
    }
    const unit_table::Unit* unit = unit_table::find_unit(kind, unit_text);
    if (unit == nullptr) {
        return wrong_unit(row, text, unit_text, place);
    }
    const double value_si = unit->inverse ? unit->multiply / unit->divide / number.value().value
                                          : number.value().value * unit->multiply / unit->divide;
    if (!std::isfinite(value_si)) {
        return fault("units/not-finite", place, text, described(row),
                     "the number must be finite and of a size that a computer can hold");
    }
    return value_si;
}

}  // namespace

template <class Q>
Result<Q> parse_quantity(std::string_view text, const Place& place) {
    const Result<double> value_si = parse_si(unit_table::kKindOf<Q>, text, place);
    if (!value_si) {
        return value_si.diagnostics();
    }
    return from_si<Q>(value_si.value());
}

template <class Q>
std::string describe_quantity() {
    return described(unit_table::row(unit_table::kKindOf<Q>));
}

Result<double> parse_number(std::string_view text, const Place& place) {
    const std::string expected = "a number without a unit, such as 0.2";
    const std::string_view bare = trimmed(text);
    const Result<NumberText> number = read_number(bare, place, expected);
    if (!number) {
        return number.diagnostics();
    }
    if (trimmed(number.value().rest) == "%") {
        return number.value().value / 100.0;
    }
    if (!number.value().rest.empty()) {
        return fault("units/unexpected-text", place, bare, expected,
                     "leave out '" + printable(trimmed(number.value().rest)) + "'");
    }
    return number.value().value;
}

#define INSTANTIATE(Q)                                                    \
    template Result<Q> parse_quantity<Q>(std::string_view, const Place&); \
    template std::string describe_quantity<Q>();
STEPPER_SIM_FOR_EACH_QUANTITY(INSTANTIATE)
#undef INSTANTIATE

}  // namespace planner
