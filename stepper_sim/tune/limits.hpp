/// The values to flash: the highest speed, acceleration and speed step of every axis that hold, judged by the checks themselves on the
/// worst-case moves (check/canonical_moves.hpp) and on the programs given. limit_probe.hpp asks the checks; limits_text.hpp writes the
/// values into a machine file.
///
/// The three settings of an axis share its torque, so they are chosen in a fixed order:
/// 1. base acceleration: the highest that holds up to the motor's corner speed, where it has its full torque;
/// 2. speed: the highest at which a quarter more than the file's own acceleration still holds, or four fifths of the base where that is less; at
///    most what the travel lets it reach. So more speed does not cost the acceleration that is there;
/// 3. acceleration: the highest that holds at that speed; 4. speed step: the highest that holds with both.
/// In 1 to 3 the speed step is the file's own, or half of what the rotor follows where that is less.
/// What "just holds" holds together, with no margin left on the low torque curve. Where that takes something away from the present settings
/// though they are clear, the search goes back towards them no further than it must. Last, where it does hold together, single settings are
/// raised until the next value of any one (next_setting(), 5.5 % more) is no longer clear: each was searched while the others stood elsewhere.
/// "With margin": all three lowered together by the margin, and further if the checks want more to keep that margin.
/// X and Y of crossed belts share their motors and keep the ratios they have in the file.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stepper_sim/tune/limit_probe.hpp"

namespace stepper_sim {

struct SettingLimit {
    double present = 0.0;  // SI
    double just_holds = 0.0;
    double with_margin = 0.0;  // three digits, rounded down, as they can be flashed
    Binding binds = Binding::none;
    Binding binds_with_margin = Binding::none;
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
    double margin = kDefaultMargin;
    std::vector<AxisLimits> axes;  // rising slots: those asked about
    bool clear =
        false;  // `check` says clear with the values with margin; where all axes were asked about, it was run
    std::string why_not_clear;
};

struct LimitsQuestion {
    const Machine& machine;
    std::span<const ProgramSource> programs;  // judged beside the worst-case moves
    double margin = kDefaultMargin;
    std::uint32_t slots = ~std::uint32_t{0};  // bit s: axis s is asked about; others keep theirs
};

/// Called now and then, from any thread, with the share done, 0 to 1.
using LimitsProgress = std::function<void(double)>;

/// Values are found to 5 %. Costs some hundred runs of the worst-case moves and some ten of each program. Errors: those of run_program.hpp.
planner::Result<Limits> find_limits(const LimitsQuestion& question,
                                    const LimitsProgress& progress = {});

/// The machine with the values with margin; axes for which nothing holds keep theirs.
Machine with_margin(Machine machine, const Limits& limits);
/// Likewise with the values that just hold.
Machine just_holding(Machine machine, const Limits& limits);

}  // namespace stepper_sim
