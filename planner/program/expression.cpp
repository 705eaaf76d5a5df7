#include "planner/program/expression.hpp"

#include <cmath>
#include <utility>

#include "planner/program/ascii.hpp"
#include "planner/program/expression_terms.hpp"
#include "planner/program/number.hpp"

namespace planner {

bool ExpressionReader::fail(std::size_t position, std::string_view id, std::string_view expected) {
    failure_ = {id, position, expected};
    return false;
}

void ExpressionReader::skip_blanks(std::size_t& position) const {
    while (position < line_.size() && (line_[position] == ' ' || line_[position] == '\t')) {
        ++position;
    }
}

char ExpressionReader::at(std::size_t position) const {
    return position < line_.size() ? line_[position] : '\0';
}

bool ExpressionReader::value(std::size_t& position, double& result) {
    skip_blanks(position);
    const char sign = at(position);
    if (sign != '-' && sign != '+') {
        return unsigned_value(position, result);
    }
    ++position;
    skip_blanks(position);
    if (at(position) == '-' || at(position) == '+') {
        return fail(position, "program/no-number", "one sign at most");
    }
    if (!unsigned_value(position, result)) {
        return false;
    }
    result = sign == '-' ? -result : result;
    return true;
}

bool ExpressionReader::unsigned_value(std::size_t& position, double& result) {
    const char c = at(position);
    if (c == '[') {
        return bracket(position, result);
    }
    if (c == '#') {
        int index = 0;
        ++position;
        if (!parameter_index(position, index)) {
            return false;
        }
        unset_ = unset_ || !parameters_.is_set(index);
        result = parameters_.value(index);
        return true;
    }
    if ((to_upper(c) >= 'A' && to_upper(c) <= 'Z')) {
        return function(position, result);
    }
    const char* const end = line_.data() + line_.size();
    const NumberScan number = scan_number(line_.data() + position, end);
    if (number.next == nullptr) {
        return fail(position, "program/no-number", "a number");
    }
    if (!std::isfinite(number.value)) {
        return fail(position, "program/number-too-large", "a number a machine can use");
    }
    position = static_cast<std::size_t>(number.next - line_.data());
    result = number.value;
    return true;
}

bool ExpressionReader::parameter_index(std::size_t& position, int& index) {
    skip_blanks(position);
    if (at(position) == '<') {
        return named_parameter(position, index);
    }
    if (++depth_ > kMaxExpressionDepth) {
        return fail(position, "program/expression", "at most 64 nested brackets, functions and #");
    }
    const std::size_t start = position;
    double number = 0.0;
    if (!unsigned_value(position, number)) {
        return false;
    }
    --depth_;
    constexpr double kWhole =
        1e-4;  // RS274/NGC: a number this close to a whole one counts as whole
    const double nearest = std::round(number);
    if (!(nearest >= 1.0 && nearest <= kParameters) || std::fabs(number - nearest) > kWhole) {
        return fail(start, "program/parameter", "a parameter number from 1 to 5400");
    }
    index = static_cast<int>(nearest);
    return true;
}

bool ExpressionReader::named_parameter(std::size_t& position, int& index) {
    const std::size_t start = position;
    const std::size_t close = line_.find('>', position);
    index = close == std::string_view::npos
                ? 0
                : parameters_.index_of(line_.substr(start + 1, close - start - 1));
    position = close + 1;
    return index != 0 ||
           fail(start, "program/parameter",
                "a name of letters, digits, '_' and '-' in <>, and at most 1000 names");
}

bool ExpressionReader::bracket(std::size_t& position, double& result) {
    if (at(position) != '[') {
        return fail(position, "program/expression", "'['");
    }
    if (++depth_ > kMaxExpressionDepth) {
        return fail(position, "program/expression", "at most 64 nested brackets, functions and #");
    }
    const std::size_t open = position;
    const bool outside = std::exchange(compares_, comparison_in(line_, open));
    ++position;
    if (!expression(position, result, 0)) {
        return false;
    }
    compares_ = outside;
    skip_blanks(position);
    if (position >= line_.size()) {
        return fail(open, "program/expression", "a ']' that closes this '['");
    }
    if (at(position) != ']') {
        return fail(position, "program/expression", "an operator or ']'");
    }
    ++position;
    --depth_;
    return true;
}

bool ExpressionReader::function(std::size_t& position, double& result) {
    const std::size_t start = position;
    const FunctionName* const found = function_at(line_, position);
    if (found == nullptr) {
        return fail(position, "program/no-number",
                    "a number, a #parameter, a [bracket] or a function");
    }
    position += found->text.size();
    skip_blanks(position);
    double first = 0.0;
    if (!bracket(position, first)) {
        return false;
    }
    if (found->meaning == Function::atan) {
        skip_blanks(position);
        double second = 0.0;
        if (at(position) != '/') {
            return fail(position, "program/expression", "ATAN[..]/[..]");
        }
        ++position;
        skip_blanks(position);
        if (!bracket(position, second)) {
            return false;
        }
        result = angle_deg(first, second);
        return true;
    }
    result = apply(found->meaning, first);
    return std::isfinite(result) || fail(start, "program/expression",
                                         "an argument for which the function has a finite value");
}

// Every level chains its own operators over operands of the next; the tightest over values.
bool ExpressionReader::expression(std::size_t& position, double& result, int level) {
    const auto next = [&](double& out) {
        return level == kTightestLevel ? value(position, out)
                                       : expression(position, out, level + 1);
    };
    if (!next(result)) {
        return false;
    }
    for (;;) {
        skip_blanks(position);
        const OperatorName* const name =
            position < line_.size() ? operator_at(line_, position) : nullptr;
        if (name == nullptr || level_of(*name, compares_) != level) {
            return true;
        }
        const std::size_t start = position;
        position += name->text.size();
        double right = 0.0;
        if (!next(right)) {
            return false;
        }
        if ((name->meaning == Operator::divide || name->meaning == Operator::modulo) &&
            right == 0.0) {
            return fail(start, "program/division-by-zero", "a divisor other than 0");
        }
        result = apply(name->meaning, result, right);
        if (!std::isfinite(result)) {
            return fail(start, "program/expression", "a finite result");
        }
    }
}

bool ExpressionReader::bare_arithmetic(std::size_t& position, double& result, bool& found) {
    double sum = 0.0;  // finished terms; `result` is the term in progress
    for (;;) {
        std::size_t look = position;
        skip_blanks(look);
        const char sign = at(look);
        if (sign != '*' && sign != '/' && sign != '+' && sign != '-') {
            break;
        }
        const std::size_t start = look;
        ++look;
        skip_blanks(look);
        const char after = at(look);
        // "*28" at the end of a line is a checksum, so a plain number may follow only the other
        // operators.
        const bool continues =
            found && sign != '*' && (after == '.' || (after >= '0' && after <= '9'));
        if (after != '#' && after != '[' && !continues) {
            break;
        }
        double right = 0.0;
        if (!value(look, right)) {
            return false;
        }
        if (sign == '/' && right == 0.0) {
            return fail(start, "program/division-by-zero", "a divisor other than 0");
        }
        if (sign == '*') {
            result *= right;
        } else if (sign == '/') {
            result /= right;
        } else {
            sum += result;
            result = sign == '+' ? right : -right;
        }
        position = look;
        found = true;
    }
    result += sum;
    return std::isfinite(result) || fail(position, "program/expression", "a finite result");
}

}  // namespace planner
