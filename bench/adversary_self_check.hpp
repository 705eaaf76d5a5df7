/// The second model (adversary_model.hpp) against closed forms: vibrations, static holding, energy, friction, current. That it agrees
/// with stepper_sim/dynamics is neither assumed nor looked at.
#pragma once

namespace stepper_sim::adversary {

/// Prints one line for each closed form; returns how many are missed.
int self_check();

}  // namespace stepper_sim::adversary
