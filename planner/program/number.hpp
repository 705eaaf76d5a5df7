/// Decimal numbers of a program: an optional sign, digits, at most one point, at least one digit
/// ("-.07", "5.", "+0.5"). RS274/NGC numbers have no exponent: in "X1E5" the E is a word. The value
/// is correctly rounded, without a library call for up to 15 digits: the digits fit a double
/// exactly, so one division by an exact power of ten rounds once. Not here: parameters and
/// expressions (expression.hpp).
#pragma once

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>

#include "planner/program/ascii.hpp"

namespace planner {

struct NumberScan {
    double value = 0.0;
    const char* next = nullptr;  // first character after the number; nullptr: no number stands here
};

/// Reads the number that starts at `p`. Never reads at or beyond `end`; does not skip blanks.
NumberScan scan_number(const char* p, const char* end);

inline constexpr std::array<double, 16> kPowersOfTen = {
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

/// Eight digits, the first in the lowest byte, each as its value: the first step makes pairs of
/// them, the second fours and the number (D. Lemire, "Quickly parsing eight digits": from memory).
inline double eight_digits(std::uint64_t digits) {
    constexpr std::uint64_t kPairs = 0x000000FF000000FF;
    constexpr std::uint64_t kFirst = 100 + (1000000ULL << 32U), kSecond = 1 + (10000ULL << 32U);
    digits = digits * 10 + (digits >> 8U);
    digits = (digits & kPairs) * kFirst + ((digits >> 16U) & kPairs) * kSecond;
    return static_cast<double>(static_cast<std::int64_t>(digits >> 32U));
}

/// Masks of the last n bytes of eight. Outside the function: inside, g++ builds it anew every time.
inline constexpr std::array<std::uint64_t, 8> kLastBytes = {
    0,          ~0ULL << 56U, ~0ULL << 48U, ~0ULL << 40U, ~0ULL << 32U, ~0ULL << 24U, ~0ULL << 16U,
    ~0ULL << 8U};

/// The same as scan_number(), quicker for numbers of up to eight characters after the sign, which
/// most are: all of them at once, and no loop whose length a processor would have to guess.
inline NumberScan scan_short_number(const char* p, const char* end) {
    constexpr std::ptrdiff_t kBytes = 8;
    constexpr int kBits = 64, kByte = 8;
    constexpr std::uint64_t kZeros = 0x3030303030303030, kHighBits = 0x8080808080808080;
    constexpr std::uint64_t kAboveNine =
        0x7676767676767676;  // carries 10 and above to the high bit
    const bool negative = *p == '-';
    const char* const first = negative ? p + 1 : p;
    if (std::endian::native != std::endian::little || end - first <= kBytes) {
        return scan_number(p, end);
    }
    std::uint64_t digits = 0;
    std::memcpy(&digits, first, kBytes);
    digits ^= kZeros;
    // High bit of every byte that is no digit; exact up to the first of them that is not ASCII.
    const std::uint64_t other = ((digits + kAboveNine) | digits) & kHighBits;
    const int whole = std::countr_zero(other) & -kByte;  // in bits, like all lengths here
    if (whole == kBits) {
        return scan_number(p, end);
    }
    int length = whole;
    double value = 0.0;
    if (first[whole / kByte] == '.') {
        length = std::countr_zero(other & (other - 1)) & -kByte;
        if (length == kByte || (length == kBits && is_digit(first[kBytes]))) {
            return scan_number(p, end);
        }
        const auto decimals = static_cast<std::size_t>(length - whole) / kByte - 1;
        const std::uint64_t right = digits << static_cast<unsigned>(kBits - length);
        const std::uint64_t over_point = right << static_cast<unsigned>(kByte);
        value = eight_digits(((right ^ over_point) & kLastBytes[decimals]) ^ over_point) /
                kPowersOfTen[decimals];
    } else {
        if (whole == 0) {
            return scan_number(p, end);
        }
        value = eight_digits(digits << static_cast<unsigned>(kBits - whole));
    }
    return {negative ? -value : value, first + length / kByte};
}

}  // namespace planner
