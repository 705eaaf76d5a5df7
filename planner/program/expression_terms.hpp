/// Operators and functions of RS274/NGC expressions: their names and what they compute. Angles are
/// in degrees. Source: NISTIR 6556, sections 3.3.2.3 and 3.3.2.4 (from memory).
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
    logic_and
};

struct OperatorName {
    std::string_view text;
    Operator meaning;
    int level;  // 2 binds first, then 1, then 0
};

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

/// May be infinite or not a number; the caller refuses that. MOD is never negative.
double apply(Operator meaning, double left, double right);
/// One argument; ATAN has two, see angle_deg().
double apply(Function meaning, double x);
double angle_deg(double opposite, double adjacent);

}  // namespace planner
