/// The change to make first, and whether it cures: each change that a finding proposes is made on a copy of the machine, which is then
/// checked again on the same programs (or worst-case moves), with the same margin and options. It cures where the check that asked for
/// it no longer objects for that motor, no other finding got worse and none came. Candidates are tried in the order of consequence.hpp.
/// Tries are bounded, and programs too long to be run again are not: then the report says so.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "stepper_sim/check/check.hpp"
#include "stepper_sim/run/run_program.hpp"

namespace stepper_sim::check {

/// Guess: each costs about what the check itself does, and people wait for it.
inline constexpr int kMostRechecks = 8;

enum class Cure : std::uint8_t {
    not_needed,   // nothing but notes
    none_known,   // no finding proposes anything that settings can change
    not_checked,  // proposed, but not checked again
    none_cures,   // all that were tried fail
    cures,
};

struct Refuted {
    std::string check;
    char motor = 0;
    Change change;
};

struct ChangeFirst {
    Cure cure = Cure::not_needed;
    Change change;    // `cures`, and `not_checked` where the finding says how far
    Finding answers;  // the finding that asks for it; of `none_known` and `none_cures` the worst
    int tried = 0;    // changes made on a copy
    Findings left;    // `cures`: faults and risks that it leaves, the worst first
    std::vector<Refuted> refuted;  // tried, and no cure
};

/// How the machine was checked.
struct Recheck {
    std::span<const run::ProgramSource> programs;  // none: worst-case moves, or the settings alone
    run::RunOptions options;
};

/// A program of it has more moves than are planned again and again (slip_cure.hpp).
bool too_long(const CheckInput& input);

/// What stands first without checking it again. `findings`: in the order of consequence.hpp.
ChangeFirst unverified_change(const Findings& findings);

ChangeFirst verified_change(const CheckInput& input, const Findings& findings,
                            const Recheck& recheck, const run::ProgressCall& progress = {});

/// The change of a finding that is worth showing: the first that is neither a mere try nor refuted; null: none.
const Change* shown_change(const Finding& finding, const ChangeFirst& first);

/// Whether the change cures that finding, by the findings before and after it.
bool cures(const Finding& finding, const Findings& before, const Findings& after);

}  // namespace stepper_sim::check
