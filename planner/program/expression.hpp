/// Values of RS274/NGC words: a number, a parameter "#5", a bracketed expression or a function of
/// one. Grammar (spaces and case do not matter):
///   value      = [sign] number | [sign] "#" value | [sign] "[" expression "]" | [sign] function
///   function   = NAME "[" expression "]" | "ATAN[" expression "]/[" expression "]"       angles in
///   degrees expression = value { operator value }; "**" binds before * / MOD, those before + - OR
///   XOR AND; equal ones from the left. Where EQ NE GT GE LT LE stand in the same brackets, they
///   bind after + and -, and OR XOR AND last (the trade's extension, from memory)
/// Brackets, functions and # together nest at most kMaxExpressionDepth deep. Nothing throws; only a
/// name not seen before allocates. Not here: what a value means (lexer.hpp). Source: NISTIR 6556, sections 3.3.2.1
/// to 3.3.2.4 (from memory).
#pragma once

#include <array>
#include <cstddef>
#include <string_view>

#include "planner/program/parameters.hpp"

namespace planner {

inline constexpr int kMaxExpressionDepth = 64;
struct ExpressionFailure {
    std::string_view
        id;  // program/no-number, program/expression, program/division-by-zero, program/parameter
    std::size_t position = 0;
    std::string_view expected;
};

/// Reads values out of one line. After a failed call `failure()` says what and where.
class ExpressionReader {
  public:
    explicit ExpressionReader(Parameters& parameters) : parameters_(parameters) {}

    void start_line(std::string_view line) {
        line_ = line;
        depth_ = 0;
        unset_ = compares_ = false;
    }

    /// Reads the value at `position` (after blanks) and moves `position` behind it.
    bool value(std::size_t& position, double& result);

    /// Continues after a value with arithmetic that lacks its brackets ("40.8*#10+#6"): operators *
    /// / + - followed by # or [. Sets `found` where there was any.
    bool bare_arithmetic(std::size_t& position, double& result, bool& found);

    /// The index of a parameter after '#': a whole number from 1 to kParameters, or a <name>.
    bool parameter_index(std::size_t& position, int& index);

    const ExpressionFailure& failure() const { return failure_; }
    bool read_unset_parameter() const { return unset_; }

  private:
    bool fail(std::size_t position, std::string_view id, std::string_view expected);
    void skip_blanks(std::size_t& position) const;
    char at(std::size_t position) const;
    bool unsigned_value(std::size_t& position, double& result);
    bool function(std::size_t& position, double& result);
    bool named_parameter(std::size_t& position, int& index);
    bool bracket(std::size_t& position, double& result);
    bool expression(std::size_t& position, double& result, int level);

    std::string_view line_;
    Parameters& parameters_;
    ExpressionFailure failure_;
    int depth_ = 0;
    bool unset_ = false;
    bool compares_ = false;  // a comparison stands in the brackets that are being read
};

}  // namespace planner
