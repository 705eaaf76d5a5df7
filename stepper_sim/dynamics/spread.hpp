/// How sure a slip is when the machine is only roughly known: the share of seeded draws of its uncertain numbers that slip.
/// Not a failure rate of a real machine: the spreads are guesses until trials have fitted them.
/// Model:   independent draws; every draw keeps the program, the pulses and the settings
/// Formula: likelihood = slipped draws/draws
/// Symbols: see Spread
/// Valid:   a share of N draws is good to about 1/sqrt(4 N)
/// Source:  Guess: spreads from common practice, no source
/// Checked by: Spread.*
#pragma once

#include <cstdint>
#include <span>

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/dynamics/full_model.hpp"

namespace stepper_sim::dynamics {

/// Guess: a belt or screw swings with a damping ratio of 0.01 to 0.05; factors on kDefaultModalDamping, 0.02.
inline constexpr double kDampingLowFactor = 0.5, kDampingHighFactor = 2.5;

struct Spread {
    double friction_share = 0.30;                     // +-, even
    double mass_share = 0.10;                         // +-, even; on the whole reflected inertia
    double stiffness_low_factor = 0.8;                // even in the logarithm from low ...
    double stiffness_high_factor = 1.2;               // ... to high
    double supply_sag_share = 0.05;                   // 0 to -, even
    double viscous_factor = 3.0;                      // x or /, even in the logarithm
    double damping_low_factor = kDampingLowFactor;    // of the transmission ...
    double damping_high_factor = kDampingHighFactor;  // ... even in the logarithm
    double torque_low_factor = 1.0;                   // of the running factor, even from low ...
    double torque_high_factor = 1.0;                  // ... to high
};

/// Draw number `draw` of `seed`: the same on every machine and compiler.
AxisDynamics draw_axis(const AxisDynamics& axis, const Spread& spread, std::uint64_t seed,
                       std::uint64_t draw);

/// Share of `draws` (> 0) in which the window slips: of one motor, or of the
/// two of crossed belts. Cost: one simulation per draw, batched.
double slip_likelihood(std::span<const WindowRun> motors, const Spread& spread, int draws,
                       std::uint64_t seed);

}  // namespace stepper_sim::dynamics
