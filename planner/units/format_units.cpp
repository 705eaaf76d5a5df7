#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <vector>

#include "planner/units/kind_of.hpp"
#include "planner/units/units_text.hpp"

namespace planner {
namespace {

constexpr int kMaxDigits = 17;  // enough to read the same double back
constexpr int kLowestPlainExponent = -4;
constexpr int kHighestPlainExponent = 8;

struct Decimal {
    bool negative = false;
    std::string digits;  // first digit before the point
    int exponent = 0;
};

Decimal to_decimal(double value, int digits) {
    std::array<char, 32> buffer{};
    const auto* const end =
        std::to_chars(buffer.data(), buffer.data() + buffer.size(), std::fabs(value),
                      std::chars_format::scientific, digits - 1)
            .ptr;
    const std::string_view text(buffer.data(), static_cast<std::size_t>(end - buffer.data()));
    const std::size_t mark = text.find('e');
    Decimal result;
    result.negative = std::signbit(value);
    for (const char c : text.substr(0, mark)) {
        if (c != '.') {
            result.digits += c;
        }
    }
    const std::size_t last = result.digits.find_last_not_of('0');
    result.digits.resize(last == std::string::npos ? 1 : last + 1);
    result.exponent =
        std::atoi(std::string(text.substr(mark + 1)).c_str());  // NOLINT(cert-err34-c)
    return result;
}

std::string with_point(const std::string& digits, std::size_t whole_digits) {
    if (digits.size() <= whole_digits) {
        return digits + std::string(whole_digits - digits.size(), '0');
    }
    return digits.substr(0, whole_digits) + '.' + digits.substr(whole_digits);
}

std::string format_si(unit_table::Kind kind, double value_si, int digits) {
    const unit_table::KindRow& row = unit_table::row(kind);
    std::string_view name = row.units.front().text;
    for (const unit_table::Choice& choice : row.choices) {
        if (value_si == 0.0) {
            break;
        }
        name = choice.unit;
        if (std::fabs(value_si) >= choice.from_si) {
            break;
        }
    }
    const unit_table::Unit* unit = unit_table::find_unit(kind, name);
    return format_number(value_si / unit->multiply * unit->divide, digits) + ' ' +
           std::string(name);
}

}  // namespace

std::string format_number(double value, int digits) {
    if (std::isnan(value)) {
        return "nan";
    }
    if (std::isinf(value)) {
        return value < 0.0 ? "-inf" : "inf";
    }
    if (value == 0.0) {
        return "0";
    }
    const Decimal decimal = to_decimal(value, std::clamp(digits, 1, kMaxDigits));
    std::string text = decimal.negative ? "-" : "";
    if (decimal.exponent < kLowestPlainExponent || decimal.exponent > kHighestPlainExponent) {
        return text + with_point(decimal.digits, 1) + 'e' + std::to_string(decimal.exponent);
    }
    if (decimal.exponent >= 0) {
        return text + with_point(decimal.digits, static_cast<std::size_t>(decimal.exponent) + 1);
    }
    return text + "0." + std::string(static_cast<std::size_t>(-decimal.exponent - 1), '0') +
           decimal.digits;
}

template <class Q>
std::string format_quantity(const Q& quantity, int digits) {
    return format_si(unit_table::kKindOf<Q>, to_si(quantity), digits);
}

std::string format_duration(double seconds) {
    constexpr double kShortBelow_s = 59.95;  // three digits would already read "60 s"
    constexpr double kCountable_s = 1e15;    // above it whole seconds are not exact
    const double size = std::fabs(seconds);
    if (!(size >= kShortBelow_s && size < kCountable_s)) {
        return format_quantity(from_si<Time>(seconds), 3);
    }
    const long long total = std::llround(size);
    const long long hours = total / 3600;
    const long long minutes = total / 60 % 60;
    const long long rest = total % 60;
    std::string text = seconds < 0.0 ? "-" : "";
    if (hours > 0) {
        text += std::to_string(hours) + " h";
    }
    if (minutes > 0 || (hours > 0 && rest > 0)) {
        text += std::string(hours > 0 ? " " : "") + std::to_string(minutes) + " min";
    }
    if (rest > 0) {
        text += ' ' + std::to_string(rest) + " s";
    }
    return text;
}

#define INSTANTIATE(Q) template std::string format_quantity<Q>(const Q&, int);
STEPPER_SIM_FOR_EACH_QUANTITY(INSTANTIATE)
#undef INSTANTIATE

std::string listed(std::span<const std::string> things, std::string_view last) {
    std::string out;
    for (std::size_t i = 0; i < things.size(); ++i) {
        if (i > 0) out += i + 1 < things.size() ? ", " : " " + std::string(last) + " ";
        out += things[i];
    }
    return out;
}

std::string listed_letters(std::string_view letters) {
    std::vector<std::string> things;
    for (const char letter : letters)
        things.emplace_back(1, letter);
    return listed(things);
}

}  // namespace planner
