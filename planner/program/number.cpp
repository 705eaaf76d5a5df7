#include "planner/program/number.hpp"

#include <fast_float/fast_float.h>

#include <limits>

namespace planner {

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

}  // namespace planner
