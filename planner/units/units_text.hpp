/// Text to quantities and back: "150 mm/s", "48 N cm", "2.8 mH", "68 g cm^2", "-5 mm", "1.2 A",
/// "500 ns". A number without a unit, an unknown unit and a unit of the wrong kind are errors that
/// show the text and the kind expected. Grammar: NUMBER SPACE* UNIT; UNIT is one of a table per
/// kind (unit_table.hpp; case matters: "mH" is not "MH"); NUMBER is a decimal number with optional
/// sign and exponent, finite. Blanks around the text are skipped. Nothing throws.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "planner/units/diagnostic.hpp"
#include "planner/units/units.hpp"

namespace planner {

/// Reads a quantity of kind Q (any alias of units.hpp).
/// Errors: units/no-number, units/no-unit, units/unknown-unit, units/wrong-kind, units/not-finite;
/// `place` is where `text` starts.
template <class Q>
Result<Q> parse_quantity(std::string_view text, const Place& place = {});

/// Reads a number that has no unit, such as a share or a count; "20 %" is 0.2.
/// Errors: units/no-number, units/not-finite, units/unexpected-text.
Result<double> parse_number(std::string_view text, const Place& place = {});

/// What a quantity of kind Q looks like, for messages: "a length such as \"8 mm\"".
template <class Q>
std::string describe_quantity();

/// Writes a value with a unit a person would choose for its size ("1.2 kHz", "0.35 N m", "180
/// mm/s"), with `digits` significant digits and no needless zeros. Speeds and lengths are in mm,
/// torques in N m or N cm below 0.1 N m.
template <class Q>
std::string format_quantity(const Q& quantity, int digits = 4);

/// The number with `digits` significant digits (1 to 17), no exponent between 1e-4 and 1e9, no
/// trailing zeros.
std::string format_number(double value, int digits = 4);

/// 3671 s -> "1 h 1 min 11 s"; 71.3 s -> "1 min 11 s"; 4.27 s -> "4.27 s"; below a second "4.27 ms"
/// and so on.
std::string format_duration(double seconds);

/// "X", "X and Y", "X, Y and Z".
std::string listed(std::span<const std::string> things, std::string_view last = "and");
/// Likewise of single letters.
std::string listed_letters(std::string_view letters);

}  // namespace planner
