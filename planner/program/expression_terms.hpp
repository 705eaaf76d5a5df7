/// Operators and functions of RS274/NGC expressions: their names and what they compute. Angles are
/// in degrees. Source: NISTIR 6556, sections 3.3.2.3 and 3.3.2.4; the comparisons are the trade's
/// extension (both from memory).
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace planner {

enum class Operator : std::uint8_t {
    power,
    times,
    divide,
    modulo,
    plus,
    minus,
    logic_or,
    logic_xor,
    logic_and,
    equal,
    not_equal,
    greater,
    greater_equal,
    less,
    less_equal
};

struct OperatorName {
    std::string_view text;
    Operator meaning;
    int level;  // see level_of()
};

inline constexpr int kTightestLevel = 4;

enum class Function : std::uint8_t {
    abs,
    acos,
    asin,
    atan,
    cos,
    exp,
    fix,
    fup,
    ln,
    round,
    sin,
    sqrt,
    tan
};

struct FunctionName {
    std::string_view text;
    Function meaning;
};

/// The operator or function whose name stands at `position`, in any case; nullptr where there is
/// none.
const OperatorName* operator_at(std::string_view line, std::size_t position);
const FunctionName* function_at(std::string_view line, std::size_t position);

/// What binds first has the highest level, up to kTightestLevel. OR XOR AND are level with + and -,
/// as the standard has them, unless a comparison stands in the same brackets.
int level_of(const OperatorName& name, bool compares);
/// A comparison stands between the '[' at `open` and its ']', not in brackets within.
bool comparison_in(std::string_view line, std::size_t open);

/// May be infinite or not a number; the caller refuses that. MOD is never negative.
double apply(Operator meaning, double left, double right);
/// One argument; ATAN has two, see angle_deg().
double apply(Function meaning, double x);
double angle_deg(double opposite, double adjacent);

}  // namespace planner
