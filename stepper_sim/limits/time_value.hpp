/// What settings are worth in time: how long the programs take now, with each new value alone, with all of them, over each setting alone,
/// and with the speeds and accelerations of all axes scaled together. It plans only; whether a value holds is limits.hpp's business.
/// Model:   the programs planned again for every change
/// Formula: duration = end of the last move + rest after it, summed over programs; knee = least scale x on 2^(k/4)/2 with
///          duration(x) <= (1 + kKneeShare) duration at the best of them
/// Symbols: x = scale of one setting of all axes, the other as it is; k = 0 to 16
/// Valid:   scales from 1/2 to 8: more saves nothing that any machine could reach
/// Source:  derived here; Guess: under a percent is not worth the wear
/// Checked by: TimeValue.AStrokeTakesWhatTheHandWorksOut, TimeValue.MoreOfASettingNeverTakesLonger
#pragma once

#include <algorithm>
#include <array>
#include <functional>
#include <span>
#include <string_view>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/machine/setting.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::limits {

/// Scales of the present values: of speeds (columns) and accelerations (rows) of the grid, of each setting alone.
inline constexpr std::array kTimeScales{0.5, 0.71, 1.0, 1.41, 2.0};
/// More of a setting is worth nothing to speak of where all there is of it would save less than this share.
inline constexpr double kKneeShare = 0.01;

struct SettingWorth {
    char letter = 'X';
    machine::SettingKey setting = machine::SettingKey::max_speed;
    double now = 0.0, wanted = 0.0;  // SI
    double duration_s = 0.0;         // of all programs with this value alone changed
};

struct SettingTimes {
    char letter = 'X';
    machine::SettingKey setting = machine::SettingKey::max_speed;
    std::array<double, kTimeScales.size()> duration_s{};  // of all programs, with this one scaled

    /// What it changes at most.
    double spread_s() const {
        const auto [least, most] = std::minmax_element(duration_s.begin(), duration_s.end());
        return *most - *least;
    }
};

/// Changes below this share of the time are not worth a line.
inline constexpr double kToldShare = 1e-3;

struct TimeValue {
    double now_s = 0.0;
    double wanted_s = 0.0;             // with all wanted values
    std::vector<SettingWorth> worths;  // most saved first
    std::array<std::array<double, kTimeScales.size()>, kTimeScales.size()>
        grid_s{};  // [acceleration][speed]
    std::vector<SettingTimes>
        alone;  // those that change most first; speed steps where corners go by them
    // Scale of the present values of all axes past which more of it alone brings under kKneeShare.
    double speed_knee = 1.0, acceleration_knee = 1.0;
};

/// What the programs take together. Plans only. Errors: those of plan_file.hpp.
planner::Result<double> duration_s(const machine::Machine& machine,
                                   std::span<const run::ProgramSource> programs);

/// Plans each program about 60 times, once for each change and 5 times for each setting of each axis, on all cores. `wanted` differs from `present` in settings only. `progress`: called now and then, from
/// any thread, with the share done. Errors: those of plan_file.hpp.
planner::Result<TimeValue> time_value(const machine::Machine& present,
                                      const machine::Machine& wanted,
                                      std::span<const run::ProgramSource> programs,
                                      const std::function<void(double)>& progress = {});

}  // namespace stepper_sim::limits
