/// The checks of a machine with guesses in it (guesses.hpp): run at the nominal values, and again at both ends of all that is open.
/// What only an end objects to is a risk, and a fault that one end does not have is no more than that.
#pragma once

#include "stepper_sim/check/verified_change.hpp"

namespace stepper_sim::check {

/// `input`: at the nominal values, run already. Costs two runs more where something is open, else none.
Findings run_guessed_checks(const CheckInput& input, const Recheck& recheck);

/// Likewise, where the nominal ones are known.
void add_guess_ends(const CheckInput& input, const Recheck& recheck, Findings& findings);

/// Where the ends could not be run, or nobody asked for it, nobody can be sure.
Finding ends_unseen();

/// The nominal findings with those at the ends: unsorted.
void join_corner(const Findings& at_corner, const std::string& said, Findings& findings);

}  // namespace stepper_sim::check
