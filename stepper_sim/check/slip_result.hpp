/// What the screen and the full model say about lost steps in one program: per motor the worst of
/// the screen, and every window that was simulated.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "planner/program/axis_set.hpp"
#include "stepper_sim/check/moment.hpp"
#include "stepper_sim/dynamics/confirm.hpp"
#include "stepper_sim/dynamics/windows.hpp"

namespace stepper_sim {

/// Reversals from so much of the natural frequency to so much of it feed the swing: half-power width at heavy damping, and the
/// softening of large swings on the lower side (physics of the pendulum: 0.61 at 2.5 rad).
inline constexpr double kNearBelow = 0.55, kNearAbove = 1.3;

enum class LoweredSetting : std::uint8_t { max_acceleration, max_speed };

/// Lowering this setting to `scale` of its value stops the slips.
struct SlipCure {
    LoweredSetting setting = LoweredSetting::max_acceleration;
    double scale = 1.0;
};

/// Why a window is suspicious, as far as its motion tells.
enum class SlipReason : std::uint8_t {
    resonance,    // many reversals near the natural frequency build up a swing
    instability,  // a long cruise above the corner speed may swing up by itself
    torque,       // above the corner speed, where torque falls off
    swing,        // speed steps and accelerations, each by itself
};

struct SlipWindow {
    int motor = 0;  // slot
    Window window;
    Confirmation low;             // at the low edge of the torque band
    Confirmation high;            // at the high edge; only run where the low edge slips
    Moment at;                    // where the screen's ratio peaks
    std::uint64_t reversals = 0;  // of the motor, from the run-in to the end
    double reversal_rate_hz =
        0.0;                  // full back-and-forth cycles a second between the first and the last
    double natural_hz = 0.0;  // small-swing frequency of the loaded axis at the nominal torque
    double corner_share = 0.0;  // highest speed in the window over the corner speed
    /// Above the corner speed, where the torque falls off and a cruise may swing up by itself.
    bool fast() const { return window.long_fast_stretch || corner_share > 1.0; }
    LoweredSetting lower() const {
        return fast() ? LoweredSetting::max_speed : LoweredSetting::max_acceleration;
    }
    SlipReason reason() const;
    double likelihood = -1.0;  // share of seeded draws that slip; < 0: not drawn
};

struct MotorSlip {
    double ratio_peak = 0.0;      // modal ratio, of the screen
    double load_angle_rad = 0.0;  // electrical, linear
    Moment ratio_at;
    double ringing_m = 0.0;
    Moment ringing_at;
    std::uint64_t suspicious = 0;  // windows found
    std::uint64_t simulated = 0;
    bool cure_sought = false;  // where a window slips
    std::optional<SlipCure> cure;
};

struct SlipResult {
    bool run = false;  // false: dynamics were not asked for
    std::array<MotorSlip, planner::kMaxAxes> motors{};
    std::vector<SlipWindow> windows;  // riskiest first
};

}  // namespace stepper_sim
