#include "planner/program/number.hpp"

#include <fast_float/fast_float.h>

#include <limits>

namespace planner {

namespace {

/// For more than 15 digits; `begin` is at the sign or first digit, `end` just after the last
/// character of the number.
double long_number(const char* begin, const char* end) {
    const bool negative = *begin == '-';
    if (*begin == '-' || *begin == '+') {
        ++begin;
    }
    double value = 0.0;
    const auto result = fast_float::from_chars(begin, end, value, fast_float::chars_format::fixed);
    if (result.ec != std::errc()) {
        value = std::numeric_limits<double>::infinity();
    }
    return negative ? -value : value;
}

}  // namespace

NumberScan scan_number(const char* p, const char* end) {
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
