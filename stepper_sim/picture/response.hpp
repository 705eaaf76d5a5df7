/// How a loaded motor answers to being shaken, over frequency, and how often a program turns round at each frequency.
/// Model:   the two-mass small-swing model of dynamics/axis_dynamics.hpp under a harmonic command acceleration
/// Formula: H(w) = | S phi_r p/(w_i^2 - w^2 + 2 j z_i w_i w) | / | H(0) |; a half period T/2 between reversals is f = 1/T
/// Symbols: w_i = natural rate [rad/s], z_i = damping ratio, phi_r = shape at the rotor, p = participation, w = rate of shaking [rad/s]
/// Valid:   small swings; larger ones are slower and higher than this shows
/// Source:  frequency response by modal superposition, W. T. Thomson, Theory of Vibration with Applications (from memory)
/// Checked by: Response.PeaksAtTheNaturalFrequencyByTheDampingRatio
#pragma once

#include <vector>

#include "stepper_sim/picture/recording.hpp"
#include "stepper_sim/run/demand.hpp"

namespace stepper_sim::picture {

/// Fills in `response` and the natural frequencies of `record`.
void add_response(const machine::Machine& machine, const run::MotorModels& models,
                  std::size_t motor, MotorRecord& record);

/// Bins from 1 Hz to 1 kHz, evenly wide on a logarithmic axis.
std::vector<ReversalBin> reversal_bins();
/// Counts one reversal that came `after_s` after the one before; outside all bins it is left out.
void count_reversal(double after_s, std::vector<ReversalBin>& bins);

}  // namespace stepper_sim::picture
