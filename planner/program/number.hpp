/// Decimal numbers of a program: an optional sign, digits, at most one point, at least one digit
/// ("-.07", "5.", "+0.5"). RS274/NGC numbers have no exponent: in "X1E5" the E is a word. The value
/// is correctly rounded, without a library call for up to 15 digits: the digits fit a double
/// exactly, so one division by an exact power of ten rounds once. Not here: parameters and
/// expressions (expression.hpp).
#pragma once

#include <array>
#include <cstdint>

namespace planner {

struct NumberScan {
    double value = 0.0;
    const char* next = nullptr;  // first character after the number; nullptr: no number stands here
};

/// For more than 15 digits; `begin` is at the sign or first digit, `end` just after the last
/// character of the number.
double long_number(const char* begin, const char* end);

/// Reads the number that starts at `p`. Never reads at or beyond `end`; does not skip blanks.
inline NumberScan scan_number(const char* p, const char* end) {
    constexpr std::array<double, 16> kPowersOfTen = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                     1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    constexpr int kExactDigits = 15;  // below 2^53 ~ 9.007e15
    const char* const begin = p;
    bool negative = false;
    if (p != end && (*p == '-' || *p == '+')) {
        negative = *p == '-';
        ++p;
    }
    std::uint64_t digits = 0;
    const char* const first = p;
    while (p != end && static_cast<unsigned char>(*p - '0') < 10) {
        digits = digits * 10 +
                 static_cast<unsigned char>(*p - '0');  // wraps for long ones, not used then
        ++p;
    }
    std::int64_t count = p - first;
    std::int64_t decimals = 0;
    if (p != end && *p == '.') {
        const char* const point = ++p;
        while (p != end && static_cast<unsigned char>(*p - '0') < 10) {
            digits = digits * 10 + static_cast<unsigned char>(*p - '0');
            ++p;
        }
        decimals = p - point;
        count += decimals;
    }
    if (count == 0) {
        return {};
    }
    if (count > kExactDigits) {
        return {long_number(begin, p), p};
    }
    const double value = static_cast<double>(static_cast<std::int64_t>(digits)) /
                         kPowersOfTen[static_cast<std::size_t>(decimals)];
    return {negative ? -value : value, p};
}

}  // namespace planner
