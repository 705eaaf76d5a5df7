/// Free swings of two modes side by side, one a lane, and how they turn and decay over time. Cosine, sine and exponential are power
/// series of our own: several times as fast as the library's, and the same bits on every machine. What drives the modes is
/// modal_screen.hpp's business.
/// Model:   a swing is a phasor that turns and shrinks
/// Formula: (re, im) after t = e^(-d t) (re cos wt - im sin wt, re sin wt + im cos wt)
/// Symbols: d = decay [1/s], w = damped rate [rad/s], t [s]; amplitude = hypot(re, im)
/// Valid:   error below 4 roundings of e^-dt up to 2^20 quarter turns, doubled each time the time doubles beyond (turn_over())
/// Source:  damped oscillator: textbook; reduction of the argument: W. J. Cody, W. Waite, Software Manual for the Elementary
///          Functions (1980), from memory; series by Taylor, their rests below
/// Checked by: Swing.TurnAgreesWithTheLibrarysFunctions, Swing.SeriesAgreeWithTheLibraryAllAlongTheirRange,
///             Swing.ALongTurnIsThatOfItsHalfTwice
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>

namespace stepper_sim::dynamics {

/// GCC's vector extension, which clang has too: 128 bits, which every x86-64 has.
using Pair = double __attribute__((vector_size(2 * sizeof(double))));
using PairBits = std::int64_t __attribute__((vector_size(2 * sizeof(double))));

constexpr Pair both(double x) {
    return Pair{x, x};
}

inline double sum_of(const Pair& x) {
    return x[0] + x[1];
}

/// A swing and its quadrature: amplitude sqrt(re^2 + im^2).
struct Swing {
    Pair re{}, im{};
};

/// What a time does to swings: e^-dt cos wt and e^-dt sin wt.
struct Turn {
    Pair cos{}, sin{};
};

inline Swing turned(const Swing& swing, const Turn& turn) {
    return {swing.re * turn.cos - swing.im * turn.sin, swing.re * turn.sin + swing.im * turn.cos};
}

inline Pair amplitude(const Swing& swing) {
    const Pair square = swing.re * swing.re + swing.im * swing.im;
    return Pair{std::sqrt(square[0]), std::sqrt(square[1])};
}

namespace series {

constexpr double factorial(int n) {
    return n < 2 ? 1.0 : n * factorial(n - 1);  // exact up to 18!
}

/// 1/n!
template <int n>
inline constexpr Pair kPer = both(1.0 / factorial(n));
inline constexpr Pair kOne = both(1.0);

/// 1.5 * 2^52: added and taken away again it rounds to a whole number, which then stands in the low bits.
inline constexpr Pair kRounder = both(6755399441055744.0);
inline constexpr Pair kPerLogOf2 = both(std::numbers::log2e);
inline constexpr Pair kQuartersPerRad = both(2.0 / std::numbers::pi);

/// ln 2 and pi/2 in parts of 33 bits, so that a part times a whole number below 2^20 is exact (W. J. Cody, W. Waite, Software Manual for
/// the Elementary Functions, 1980: from memory). The parts were cut from the constants to 400 bits.
inline constexpr Pair kLogOf2 = both(0x1.62e42fefp-1), kLogOf2Rest = both(0x1.473de6af278edp-34);
inline constexpr Pair kQuarter_rad = both(0x1.921fb544p+0),
                      kQuarterRest_rad = both(0x1.0b4611a6p-34),
                      kQuarterLast_rad = both(0x1.3198a2e037073p-69);
/// 2^20 - 1 quarters.
inline constexpr double kMost_rad = 1048575.0 * std::numbers::pi / 2.0;

/// At e^-700 = 1e-304 nothing is left of a swing.
inline constexpr double kMostDecay = 700.0;

inline Pair chosen(const PairBits& mask, const Pair& yes, const Pair& no) {
    return reinterpret_cast<Pair>((mask & reinterpret_cast<PairBits>(yes)) |
                                  (~mask & reinterpret_cast<PairBits>(no)));
}

/// e^x for -kMostDecay <= x <= kMostDecay, within 2 roundings.
inline Pair exponential(const Pair& x) {
    constexpr int kExponentBit = 52, kExponentOfOne = 1023;
    const Pair rounded = x * kPerLogOf2 + kRounder;
    const Pair n = rounded - kRounder;
    const Pair r = (x - n * kLogOf2) - n * kLogOf2Rest;
    const Pair r2 = r * r, r4 = r2 * r2;
    // |r| <= ln 2 / 2: what follows r^13 / 13! is below 5e-18.
    const Pair low = (kOne + r) + r2 * (kPer<2> + r * kPer<3>);
    const Pair middle = (kPer<4> + r * kPer<5>)+r2 * (kPer<6> + r * kPer<7>);
    const Pair high =
        (kPer<8> + r * kPer<9>)+r2 * (kPer<10> + r * kPer<11>)+r4 * (kPer<12> + r * kPer<13>);
    const Pair mantissa = low + r4 * (middle + r4 * high);
    const PairBits scale = (reinterpret_cast<PairBits>(rounded) + kExponentOfOne) << kExponentBit;
    return mantissa * reinterpret_cast<Pair>(scale);
}

/// Cosine and sine of |x| <= kMost_rad, within 2 roundings of 1.
inline Turn cosine_and_sine(const Pair& x) {
    constexpr int kSignFromBit1 = 62;
    const Pair rounded = x * kQuartersPerRad + kRounder;
    const Pair n = rounded - kRounder;
    const Pair r = ((x - n * kQuarter_rad) - n * kQuarterRest_rad) - n * kQuarterLast_rad;
    const Pair r2 = r * r, r4 = r2 * r2, r8 = r4 * r4;
    // |r| <= pi / 4: what follows r^15 / 15! and r^16 / 16! is below 5e-17 r and 3e-18.
    const Pair sine_rest = (r2 * kPer<5> - kPer<3>)+r4 * (r2 * kPer<9> - kPer<7>)+r8 *
                           ((r2 * kPer<13> - kPer<11>)-r4 * kPer<15>);
    const Pair cosine_rest = (r2 * kPer<4> - kPer<2>)+r4 * (r2 * kPer<8> - kPer<6>)+r8 *
                             ((r2 * kPer<12> - kPer<10>)+r4 * (r2 * kPer<16> - kPer<14>));
    const Pair sine = r + r * (r2 * sine_rest);
    const Pair cosine = kOne + r2 * cosine_rest;
    // A quarter more: cosine becomes -sine, sine becomes cosine.
    const auto quarters = reinterpret_cast<PairBits>(rounded);
    const PairBits odd = -(quarters & 1);
    const PairBits cosine_sign = ((quarters + 1) & 2) << kSignFromBit1;
    const PairBits sine_sign = (quarters & 2) << kSignFromBit1;
    return {
        reinterpret_cast<Pair>(reinterpret_cast<PairBits>(chosen(odd, sine, cosine)) ^ cosine_sign),
        reinterpret_cast<Pair>(reinterpret_cast<PairBits>(chosen(odd, cosine, sine)) ^ sine_sign)};
}

}  // namespace series

/// Rates are positive or zero. Error below 4 roundings of e^-dt, besides the rounding of the products d t and w t. A time in which a mode
/// turns more than 2^20 quarters is halved until it does not, and the turn squared as often: that doubles the error each time, as a time
/// twice as long doubles that of w t.
inline Turn turn_over(const Pair& decay_1_s, const Pair& rate_rad_s, double time_s) {
    const double fastest_rad_s = std::max(rate_rad_s[0], rate_rad_s[1]);
    int halvings = 0;
    for (; fastest_rad_s * std::fabs(time_s) > series::kMost_rad && std::isfinite(time_s);
         ++halvings)
        time_s *= 0.5;
    const Pair decay = decay_1_s * time_s;
    const Pair kept = series::exponential(
        -series::chosen(decay < series::kMostDecay, decay, both(series::kMostDecay)));
    const Turn turn = series::cosine_and_sine(rate_rad_s * time_s);
    Turn whole{kept * turn.cos, kept * turn.sin};
    for (; halvings > 0; --halvings)
        whole = {whole.cos * whole.cos - whole.sin * whole.sin, 2.0 * whole.cos * whole.sin};
    return whole;
}

}  // namespace stepper_sim::dynamics
