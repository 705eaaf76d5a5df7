/// What the corner setting (speed step, or deviation) does to the programs: the higher it is, the more the tool rings after corners; the
/// lower, the longer the machine dwells around them. It shows both at the worst corners of each setting, and the whole time, so that
/// the setting can be chosen between them. Whether steps are lost is limits.hpp's business; what it found is marked here.
/// Model:   the programs planned again with the setting of all axes scaled; a corner is measured by corner_watch.hpp
/// Formula: setting = scale * present; usual = 0.2 to 0.3 of the axis's working speed, and no more than keeps the margin
/// Symbols: working speed = highest of the axis in the programs, as the settings are now [m/s]
/// Valid:   scales from a quarter to eight; torque and loads do not depend on the setting
/// Source:  common practice, no source
/// Checked by: CornerQuality.NothingAboveWhatHoldsIsCalledUsual, CornerQuality.MoreStepNeverTakesLongerOnRealPrograms
#pragma once

#include <array>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/limits/corner_watch.hpp"
#include "stepper_sim/limits/limits.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim::limits {

/// Of the present speed steps of all axes together, or of the present deviation.
inline constexpr std::array kCornerScales{0.25, 0.5, 0.71, 1.0, 1.41, 2.0, 4.0, 8.0};
/// Speed steps are commonly set to a share of the working speed between these. Common practice, no source.
inline constexpr double kUsualStepLow = 0.2, kUsualStepHigh = 0.3;

struct PlacedCorner {
    std::size_t program = 0;  // of those asked about
    Corner corner;
};

using ByScale = std::array<PlacedCorner, kCornerScales.size()>;

struct AxisCorners {
    char letter = 'X';
    double present = 0.0;            // the axis's speed step [m/s], or the deviation [m]
    double working_speed_m_s = 0.0;  // of the axis in the programs, as the settings are now
    ByScale most_ringing{};
    // Of the speed step, where the values that hold are known: limits.hpp.
    std::optional<double> just_holds, with_margin;

    double setting(std::size_t scale) const { return present * kCornerScales[scale]; }
    /// Of speed steps only: this one is what is usual, and keeps the margin where that is known.
    bool usual(std::size_t scale) const;
    /// Above what just holds.
    bool too_high(std::size_t scale) const;
};

struct CornerQuality {
    planner::CornerRule rule = planner::CornerRule::speed_step;
    std::vector<AxisCorners> axes;  // the few that ring most, the worst first
    ByScale longest_dwell{};
    std::array<double, kCornerScales.size()> duration_s{};  // of all programs
};

/// Tells each axis which speed step holds, so that nothing above it is called usual.
void tell_what_holds(CornerQuality& quality, const Limits& limits);

/// Plans each program once for each scale, on all cores. `progress`: called now and then, from any thread, with the share done. Errors:
/// those of plan_file.hpp.
planner::Result<CornerQuality> corner_quality(const machine::Machine& machine,
                                              std::span<const run::ProgramSource> programs,
                                              const std::function<void(double)>& progress = {});

}  // namespace stepper_sim::limits
