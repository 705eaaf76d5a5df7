/// The highest value of one setting that holds, by brackets and bisection.
/// Model:   nothing is assumed of the values between: what is returned was asked and holds
/// Formula: from the start up by 1.5 until one does not hold, or down by 1.5 until one does; then x <- sqrt(low high) until high <= to low
/// Symbols: low holds, high does not, `to` = ratio between them
/// Valid:   where values hold in bands, one of their upper edges
/// Source:  bisection of the logarithm: textbook; Guess: the 1.5
/// Checked by: Highest.FindsTheEdgeFromEitherSide, Highest.BetweenOneThatHoldsAndOneThatDoesNotItEndsAtTheEdge
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>

namespace stepper_sim::limits {

inline constexpr double kFoundTo = 1.055;  // ratio of a value that does not hold to the one found

/// Between `low`, which holds, and `high`, which does not: a value that holds with another that does not at most a ratio `to` above.
template <class Holds>
double highest_between(double low, double high, Holds&& holds, double to = kFoundTo) {
    while (high > low * to) {
        const double middle = std::sqrt(low * high);
        (holds(middle) ? low : high) = middle;
    }
    return low;
}

/// `holds(x)` for x > 0. From `start` up to `cap` or down to `lowest_share` of it. Returns a value that holds: `cap`, or
/// one with another that does not hold at most a ratio `to` above; nothing where none was found.
template <class Holds>
std::optional<double> highest(double start, double cap, Holds&& holds, double to = kFoundTo,
                              double lowest_share = 1.0 / 50.0) {
    constexpr double kGrow = 1.5;
    double low = std::min(start, cap), high = low;
    if (holds(low)) {
        do {
            if (low >= cap) return cap;
            high = std::min(low * kGrow, cap);
            if (!holds(high)) break;
            low = high;
        } while (true);
    } else {
        const double lowest = low * lowest_share;
        do {
            high = low;
            low /= kGrow;
            if (low < lowest) return std::nullopt;
        } while (!holds(low));
    }
    return highest_between(low, high, holds, to);
}

}  // namespace stepper_sim::limits
