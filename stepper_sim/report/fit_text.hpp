/// What the `fit` command says, as text and as JSON: what was believed, what the sheets made of it, what they now expect, and what that does to the limits.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "stepper_sim/limits/limits.hpp"
#include "stepper_sim/trial/fit.hpp"
#include "stepper_sim/trial/fitted_machine.hpp"

namespace stepper_sim::report {

/// Of the axes that were tried.
struct LimitsBothWays {
    limits::Limits before, after;
};

/// `limits` is nothing where the machine file has no place for the fitted values.
std::string fit_text(const machine::Machine& machine, const trial::FittedSheets& fits,
                     std::span<const trial::FittedValue> values,
                     const std::optional<LimitsBothWays>& limits);
std::string fit_json(const machine::Machine& machine, const trial::FittedSheets& fits,
                     std::span<const trial::FittedValue> values,
                     const std::optional<LimitsBothWays>& limits);

}  // namespace stepper_sim::report
