/// Where between two values an answer changes from yes to no, by halving. The answer need not be monotone: what is returned holds, and what
/// does not hold stands beside it. Ratios instead of differences, and how far apart the two may stay: stepper_sim/limits/highest.hpp.
#pragma once

#include <cmath>

namespace planner {

struct Bracket {
    double holds, fails;
};

/// `halvings` times the arithmetic middle; `bracket.holds` is taken to hold and `bracket.fails` to fail without asking.
template <class Holds>
Bracket bisect(Bracket bracket, int halvings, Holds&& holds) {
    for (int i = 0; i < halvings; ++i) {
        const double middle = 0.5 * (bracket.holds + bracket.fails);
        (holds(middle) ? bracket.holds : bracket.fails) = middle;
    }
    return bracket;
}

/// The same with the geometric middle, for positive values over a wide range.
template <class Holds>
Bracket bisect_ratio(Bracket bracket, int halvings, Holds&& holds) {
    for (int i = 0; i < halvings; ++i) {
        const double middle = std::sqrt(bracket.holds * bracket.fails);
        (holds(middle) ? bracket.holds : bracket.fails) = middle;
    }
    return bracket;
}

}  // namespace planner
