#include "planner/program/expression_terms.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "planner/program/ascii.hpp"

namespace planner {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;

constexpr int kLogic = 0, kComparison = 1, kSum = 2, kProduct = 3;

// "**" stands before "*": the first match wins.
constexpr std::array<OperatorName, 15> kOperators = {{{"**", Operator::power, kTightestLevel},
                                                      {"*", Operator::times, kProduct},
                                                      {"/", Operator::divide, kProduct},
                                                      {"MOD", Operator::modulo, kProduct},
                                                      {"+", Operator::plus, kSum},
                                                      {"-", Operator::minus, kSum},
                                                      {"OR", Operator::logic_or, kLogic},
                                                      {"XOR", Operator::logic_xor, kLogic},
                                                      {"AND", Operator::logic_and, kLogic},
                                                      {"EQ", Operator::equal, kComparison},
                                                      {"NE", Operator::not_equal, kComparison},
                                                      {"GT", Operator::greater, kComparison},
                                                      {"GE", Operator::greater_equal, kComparison},
                                                      {"LT", Operator::less, kComparison},
                                                      {"LE", Operator::less_equal, kComparison}}};

constexpr std::array<FunctionName, 13> kFunctions = {{{"ABS", Function::abs},
                                                      {"ACOS", Function::acos},
                                                      {"ASIN", Function::asin},
                                                      {"ATAN", Function::atan},
                                                      {"COS", Function::cos},
                                                      {"EXP", Function::exp},
                                                      {"FIX", Function::fix},
                                                      {"FUP", Function::fup},
                                                      {"LN", Function::ln},
                                                      {"ROUND", Function::round},
                                                      {"SIN", Function::sin},
                                                      {"SQRT", Function::sqrt},
                                                      {"TAN", Function::tan}}};

bool starts_with(std::string_view line, std::size_t position, std::string_view name) {
    if (line.size() - position < name.size()) {
        return false;
    }
    for (std::size_t i = 0; i < name.size(); ++i) {
        if (to_upper(line[position + i]) != name[i]) {
            return false;
        }
    }
    return true;
}

}  // namespace

const OperatorName* operator_at(std::string_view line, std::size_t position) {
    for (const OperatorName& name : kOperators) {
        if (starts_with(line, position, name.text)) {
            return &name;
        }
    }
    return nullptr;
}

const FunctionName* function_at(std::string_view line, std::size_t position) {
    for (const FunctionName& name : kFunctions) {
        if (starts_with(line, position, name.text)) {
            return &name;
        }
    }
    return nullptr;
}

int level_of(const OperatorName& name, bool compares) {
    return name.level == kLogic && !compares ? kSum : name.level;
}

bool comparison_in(std::string_view line, std::size_t open) {
    int depth = 0;
    for (std::size_t i = open; i < line.size(); ++i) {
        const char c = line[i];
        depth += c == '[' ? 1 : c == ']' ? -1 : 0;
        if (depth == 0) {
            return false;
        }
        if (c == '<') {
            i = std::min(line.find('>', i), line.size());
        } else if (depth == 1 && is_letter(c)) {
            const OperatorName* const name = operator_at(line, i);
            if (name != nullptr && name->level == kComparison) {
                return true;
            }
        }
    }
    return false;
}

double angle_deg(double opposite, double adjacent) {
    return std::atan2(opposite, adjacent) / kDegree;
}

double apply(Operator meaning, double left, double right) {
    switch (meaning) {
        case Operator::power:
            return std::pow(left, right);
        case Operator::times:
            return left * right;
        case Operator::divide:
            return left / right;
        case Operator::modulo: {
            const double rest = std::fmod(left, right);
            return rest < 0.0 ? rest + std::fabs(right) : rest;
        }
        case Operator::plus:
            return left + right;
        case Operator::minus:
            return left - right;
        case Operator::logic_or:
            return left != 0.0 || right != 0.0 ? 1.0 : 0.0;
        case Operator::logic_xor:
            return (left != 0.0) != (right != 0.0) ? 1.0 : 0.0;
        case Operator::logic_and:
            return left != 0.0 && right != 0.0 ? 1.0 : 0.0;
        case Operator::equal:
            return left == right ? 1.0 : 0.0;
        case Operator::not_equal:
            return left != right ? 1.0 : 0.0;
        case Operator::greater:
            return left > right ? 1.0 : 0.0;
        case Operator::greater_equal:
            return left >= right ? 1.0 : 0.0;
        case Operator::less:
            return left < right ? 1.0 : 0.0;
        case Operator::less_equal:
            return left <= right ? 1.0 : 0.0;
    }
    return 0.0;
}

double apply(Function meaning, double x) {
    switch (meaning) {
        case Function::abs:
            return std::fabs(x);
        case Function::acos:
            return std::acos(x) / kDegree;
        case Function::asin:
            return std::asin(x) / kDegree;
        case Function::cos:
            return std::cos(x * kDegree);
        case Function::exp:
            return std::exp(x);
        case Function::fix:
            return std::floor(x);
        case Function::fup:
            return std::ceil(x);
        case Function::ln:
            return std::log(x);
        case Function::round:
            return std::round(x);
        case Function::sin:
            return std::sin(x * kDegree);
        case Function::sqrt:
            return std::sqrt(x);
        case Function::tan:
            return std::tan(x * kDegree);
        case Function::atan:
            break;  // two arguments, see angle_deg()
    }
    return 0.0;
}

}  // namespace planner
