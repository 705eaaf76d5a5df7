/// The values to flash: the highest speed, acceleration and speed step of every axis that hold, judged by the checks themselves on the
/// worst-case moves (run/worst_moves.hpp) and on the programs given. limit_probe.hpp asks the checks; limits_text.hpp writes the
/// values into a machine file.
/// Model:   the three settings of an axis share its torque, so they are chosen in a fixed order:
///          1. base acceleration: the highest that holds up to the motor's base speed, where it has its full torque;
///          2. speed: the highest at which half of the base acceleration still holds; at most what the travel lets it reach;
///          3. acceleration: the base where it holds at that speed, or what holds between half of it and it;
///          4. speed step: the highest that holds with both. In 1 to 3 it is a tenth of what the rotor follows.
///          What "just holds" holds together, with no margin left on the low torque curve. Last, where it does, single settings are raised
///          until the next value of any one is no longer clear: each was searched while the others stood elsewhere.
///          X and Y of crossed belts share their motors and get equal settings.
/// Formula: with margin = (1 - margin) just_holds, all three together, and further down if the checks want more to keep that margin;
///          next value = 1.055 value, rounded down to three digits
/// Symbols: margin = share of the low torque that must stay unused
/// Valid:   the answer is the machine's, whatever its settings are now (search_start.hpp); steps per mm and a cap on acceleration along the
///          path count, and axes not asked about stand at their settings in programs. Since slips come in bands, other settings may hold
///          too, the present ones among them, with more of one and less of another.
/// Source:  derived here: what holds is what the checks call clear
/// Checked by: Limits.ProposedIsClearAndAboveJustHoldsIsNot, Limits.AreTheSameWhateverTheSettingsAreNow, Limits.CrossedBeltsGetEqualSettings
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stepper_sim/limits/limit_probe.hpp"
#include "stepper_sim/limits/search_progress.hpp"

namespace stepper_sim::limits {

struct SettingLimit {
    double present = 0.0;  // SI; shown only
    double just_holds = 0.0;
    double with_margin = 0.0;  // three digits, rounded down, as they can be flashed
    run::Binding binds = run::Binding::none;
    run::Binding binds_with_margin = run::Binding::none;
    std::string why;  // it cannot be higher
    std::string why_with_margin;
};

struct AxisLimits {
    int slot = 0;
    char letter = 'X';
    bool holds = true;  // some settings hold; false: the figures below are 0
    bool keeps_margin =
        true;  // some settings keep the margin; false: with_margin is as far as lowering goes
    std::string why_not;  // where one of them is false
    SettingLimit speed, acceleration;
    std::optional<SettingLimit> step;  // none where corners go by deviation
};

struct Limits {
    double margin = run::kDefaultMargin;
    std::vector<AxisLimits> axes;  // rising slots: those asked about
    bool clear =
        false;  // `check` says clear with the values with margin; where all axes were asked about, it was run
    std::string why_not_clear;
};

struct LimitsQuestion {
    const machine::Machine& machine;
    std::span<const run::ProgramSource> programs;  // judged beside the worst-case moves
    double margin = run::kDefaultMargin;
    std::uint32_t slots = ~std::uint32_t{0};  // bit s: axis s is asked about; others keep theirs
};

/// Values are found to 5 %. Costs some hundred runs of the worst-case moves and some ten of each program. Errors: those of run_program.hpp.
planner::Result<Limits> find_limits(const LimitsQuestion& question,
                                    const LimitsProgress& progress = {});

/// The machine with the values with margin; axes for which nothing holds keep theirs.
machine::Machine with_margin(machine::Machine machine, const Limits& limits);
/// Likewise with the values that just hold.
machine::Machine just_holding(machine::Machine machine, const Limits& limits);

}  // namespace stepper_sim::limits
