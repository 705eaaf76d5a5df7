/// What is not known of one axis before a trial, and how far off it may be: the unknowns a fit moves, each a factor on what the machine
/// file says. Mass, supply and bearing friction stay as they are; a fit puts their errors into these.
/// Model:   factors independent of each other, their logarithms normal
/// Formula: value = file value exp(u), u ~ N(0, spread^2)
/// Symbols: u = logarithm of a factor [-]; spreads below
/// Valid:   spreads of even bands are taken by their standard deviation, width/sqrt(12); a friction or stiffness that the machine file
///          only guesses has the band of its class (machine/typical.hpp), four spreads wide
/// Source:  Guess: friction +-30 %, stiffness +-20 %, mass +-10 %, damping from half to 2.5 times, from common practice, no source; the
///          torque's band from published curves (motor/running_factor.hpp), taken as four spreads wide
/// Checked by: Fit.*, bench/trial_study.cpp
#pragma once

#include <array>
#include <cstddef>

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/run/demand.hpp"

namespace stepper_sim::trial {

enum Unknown : std::size_t {
    friction_unknown,  // dry friction
    torque_unknown,    // running factor
    spring_unknown,   // stiffness; of a rigid axis the moved mass, which sets its frequency instead
    damping_unknown,  // of the transmission
};
inline constexpr std::size_t kUnknowns = 4;

using UnknownArray = std::array<double, kUnknowns>;

inline constexpr double kFrictionPrior = 0.173;   // 0.30 2/sqrt(12)
inline constexpr double kStiffnessPrior = 0.115;  // 0.20 2/sqrt(12)
inline constexpr double kMassPrior = 0.058;       // 0.10 2/sqrt(12)
inline constexpr double kDampingPrior = 0.465;    // ln(5)/sqrt(12)

struct TrialPrior {
    dynamics::AxisDynamics nominal;  // as the machine file has it
    UnknownArray spread{};
};

TrialPrior trial_prior(const machine::Machine& machine, const run::MotorModels& models, int slot);

/// The axis with its unknowns moved by these logarithms.
dynamics::AxisDynamics moved(const dynamics::AxisDynamics& nominal, const UnknownArray& logarithms);

}  // namespace stepper_sim::trial
