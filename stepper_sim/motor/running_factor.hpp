/// How much of the plate's torque a real motor makes: the running factor, its fall with speed, and
/// the bands. The numbers are fitted to published pull-out curves by
/// tests/outside/running_factor_fit_test.cpp, which also judges them leaving one motor out at a
/// time and fails when they drift from the data (tests/outside/data/pull_out_curves.csv).
///
/// Model:   real torque = factor at that speed times rounded_torque_Nm at the supply itself
///          (voltage_limit.hpp)
/// Formula: k(w) = factor (1 - emf_loss E/V), not below 0
///          What is measured at a speed over the ideal torque there (voltage_limit.hpp) is less than the factor: 0.78 to 0.99 of
///          it at the points up to 1.5 base speeds, by speed, since the rounded knee and the loss come on top
/// Symbols: E = Km w = back EMF amplitude [V], V = supply [V], Km = torque constant [N m/A], w =
///          rotor speed [rad/s]
/// Valid:   frames 17 to 34, 24 to 60 V, E/V up to 2; the loss gathers iron loss, saturation,
///          detent torque and drive losses in one line and does not say which
/// Source:  fitted here to 73 points of 11 curves of 7 motors: Trinamic QSH4218 manual, fig.
///          5.1-5.4; StepperOnline torque curves
/// Checked by: RunningFactorFit.*
#pragma once

#include <algorithm>
#include <cmath>

namespace stepper_sim::motor {

struct RunningFactor {
    double factor = 1.0;    // at low speed, of the rounded torque
    double emf_loss = 0.0;  // further share lost per unit of back EMF over supply

    /// The factor at a speed; `emf_share` = Km w / V, >= 0.
    double at(double emf_share) const { return factor * std::max(0.0, 1.0 - emf_loss * emf_share); }
};

/// Fitted: weighted least absolute log error, each motor counted once, second-hand curves half.
inline constexpr double kRunningFactor = 0.95;
inline constexpr double kEmfLoss = 0.195;
/// Fitted: 72 of the 73 points lie within when their motor is left out of the fit; high/low = 1.97.
/// Not confidence limits of a known distribution: 7 motors are few, and the shape of the knee was
/// chosen on all of them.
inline constexpr double kRunningFactorLow = 0.61;
inline constexpr double kRunningFactorHigh = 1.20;
/// A motor cannot pull more than it holds; plates are taken to be within 10 % (common catalogue
/// tolerance, from memory).
inline constexpr double kHoldingTolerance = 0.10;

/// Bands about a nominal torque whose level was measured.
/// Fitted: one point given, 9 in 10 of the other points of the same curve lie within.
inline constexpr double kMeasuredLow = 0.73;
inline constexpr double kMeasuredHigh = 1.36;
/// Near the speed measured, within x/1.35, the same of a band of 1.4; it widens to the whole one at x/1.6.
/// Fitted: RunningFactorFit.OneMeasuredPointIsSharpNearItsSpeedOnly.
inline constexpr double kMeasuredNearLow = 0.845;
inline constexpr double kMeasuredNearHigh = 1.183;
inline constexpr double kMeasuredNear = 1.35;
inline constexpr double kMeasuredFar = 1.6;
/// Two published readings of nominally the same motor at 36 V and 300 rpm differ by 15 %.
inline constexpr double kPublishedSpread = 0.15;
/// The transfer of a curve to another supply or current adds up to 10 % (six pairs of curves,
/// RunningFactorFit.TransferStaysInItsBand).
inline constexpr double kTransferSpread = 0.25;
/// Those pairs differ by up to 1.33 in supply. Guess: farther away the addition grows with the logarithm of the ratio, up to what a plate
/// alone leaves open, a factor of two from lowest to highest.
inline constexpr double kTransferRatio = 1.34;
inline constexpr double kTransferMost = 1.0 / 3.0;

inline double transfer_spread(double supply_ratio) {
    const double far = std::max(1.0, std::fabs(std::log(supply_ratio)) / std::log(kTransferRatio));
    return std::min(kTransferMost, kPublishedSpread + (kTransferSpread - kPublishedSpread) * far);
}

}  // namespace stepper_sim::motor
