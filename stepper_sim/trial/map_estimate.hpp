/// Regularised maximum likelihood of a few unknowns: the best guess between what was believed before and what was observed.
/// It knows nothing of machines; fit.hpp says what the unknowns and the observations are.
/// Model:   unknowns normal about 0; each observation is a straight function of them, either measured with a normal error or only known
///          to lie above or below a threshold
/// Formula: minimise sum u_i^2/(2 s_i^2) - sum ln p_j, r = offset + g.u; measured: ln p = -r^2/(2 e^2); above: p = Phi(r/e);
///          below: p = Phi(-r/e); Newton's method, spread from the inverse of the curvature
/// Symbols: u = unknowns [-], s = their spreads before, r = residual, g = gradient, e = error of one observation, Phi = normal integral
/// Valid:   the sum is strictly convex, so there is one minimum; the spread takes its bowl for a parabola
/// Source:  Laplace's approximation, C. Bishop, Pattern Recognition and Machine Learning, sect. 4.4 (from memory)
/// Checked by: MapEstimate.*
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "stepper_sim/trial/trial_prior.hpp"

namespace stepper_sim::trial {

enum class ObservationKind : std::uint8_t { measured, above, below };

struct Observation {
    ObservationKind kind = ObservationKind::measured;
    double offset = 0.0;      // residual where all unknowns are 0
    UnknownArray gradient{};  // of the residual
    double error = 0.0;       // > 0
};

struct Estimate {
    UnknownArray value{};
    std::array<UnknownArray, kUnknowns> covariance{};

    double spread(std::size_t unknown) const;
    /// Spread of a straight function of the unknowns.
    double spread(const UnknownArray& gradient) const;
};

double residual(const Observation& observation, const UnknownArray& value);

/// What map_estimate() makes least: how badly a guess agrees with what was believed and observed.
double misfit(std::span<const Observation> observations, const UnknownArray& spread_before,
              const UnknownArray& value);

Estimate map_estimate(std::span<const Observation> observations, const UnknownArray& spread_before);

}  // namespace stepper_sim::trial
