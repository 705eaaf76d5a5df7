/// What the screen and the full model say about lost steps in one program: per motor the worst of
/// the screen, and every window that was simulated.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "planner/program/axis_set.hpp"
#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/dynamics/plant_variant.hpp"
#include "stepper_sim/dynamics/windows.hpp"
#include "stepper_sim/machine/setting.hpp"
#include "stepper_sim/run/moment.hpp"

namespace stepper_sim::run {

/// Reversals from so much of the natural frequency to so much of it feed the swing: half-power width at heavy damping, and the
/// softening of large swings on the lower side (physics of the pendulum: 0.61 at 2.5 rad).
inline constexpr double kNearBelow = 0.55, kNearAbove = 1.3;

enum class SlipVerdict : std::uint8_t { passes, possible, likely };

/// Lowering this setting to `scale` of its value stops the slips.
struct SlipCure {
    machine::SettingKey setting = machine::SettingKey::max_acceleration;
    double scale = 1.0;
};

/// Why a window is suspicious, as far as its motion tells.
enum class SlipReason : std::uint8_t {
    resonance,    // many reversals near the natural frequency build up a swing
    instability,  // a long cruise above the base speed may swing up by itself
    torque,       // above the base speed, where torque falls off
    swing,        // speed steps and accelerations, each by itself
    late_pulses,  // pulses that the controller sends late
};

/// One of the machines that a machine may be, in one run of the full model.
struct PlantRun {
    dynamics::PlantVariant variant;
    dynamics::CurrentRegulator regulator = dynamics::CurrentRegulator::dead_beat;
    double viscous_factor = 1.0;  // on the bearing friction

    bool operator==(const PlantRun&) const = default;
};

/// What the simulations of one window say (slip_judge.hpp).
struct SlipAnswer {
    SlipVerdict verdict = SlipVerdict::passes;
    // Where it does not pass, the mildest variant of the machine that slips ...
    dynamics::PlantVariant slips_at;
    bool chopper_alone = false;        // ... only with a simple chopper
    double viscous_factor = 1.0;       // ... at this much bearing friction
    std::optional<PlantRun> harshest;  // of those that slip
    bool past_peak = false;       // nothing slips, but the rotor swings past the peak of the torque
    bool only_late = false;       // with punctual pulses nothing slips
    double low_angle_rad = 0.0;   // electrical, largest at the low torque figure, all else nominal
    double peak_angle_rad = 0.0;  // of all variants
    double lost_time_s =
        -1.0;  // earliest loss of synchronism in any, of likely ones at the torque's edges; < 0: none
    int runs = 0, slips = 0;

    bool slips_anywhere() const { return slips > 0; }
    /// Nothing to object to.
    bool holds() const { return verdict == SlipVerdict::passes; }
};

struct SlipWindow {
    int motor = 0;    // slot
    int beside = -1;  // the other motor of crossed belts; -1: none
    dynamics::Window window;
    bool like_riskier = false;  // a riskier one of its kind is looked at too
    SlipAnswer answer;
    Moment at;                      // where the screen's ratio peaks
    std::uint64_t reversals = 0;    // of the motor, from the run-in to the end
    double reversal_rate_hz = 0.0;  // full back-and-forth cycles a second in the longest even train
    double natural_hz = 0.0;  // small-swing frequency of the loaded axis at the nominal torque
    double base_share = 0.0;  // highest speed in the window over the base speed
    double ripple_hz = 0.0;   // rate of steps where the screen's ratio peaks
    /// Above the base speed, where the torque falls off and a cruise may swing up by itself.
    bool fast() const { return window.long_fast_stretch || base_share > 1.0; }
    machine::SettingKey lower() const {
        return fast() ? machine::SettingKey::max_speed : machine::SettingKey::max_acceleration;
    }
    SlipReason reason() const;
    double likelihood = -1.0;  // share of seeded draws that slip; < 0: not drawn
};

/// A move, as one of many back and forth.
struct RingingStroke {
    double length_m = 0.0, corner_m_s = 0.0, acceleration_m_s2 = 0.0;  // along the path
};

struct MotorSlip {
    double ratio_peak = 0.0;  // modal ratio, of the screen
    // Of the full model, nominal (measure_swings.hpp), where it is asked and loses no step; else as the screen has them.
    double swing =
        0.0;  // share of the torque that holds the rotor; above 1: angle past its peak, in right angles
    double load_angle_rad = 0.0;  // electrical
    double ringing_m = 0.0;
    Moment ratio_at;
    Moment ringing_at;
    RingingStroke ringing_stroke;
    std::uint64_t suspicious = 0;  // windows found
    std::uint64_t simulated = 0;
    std::uint64_t like_simulated = 0;  // less risky ones of a kind whose riskiest hold with room
    bool cure_sought = false;          // where a window slips
    std::optional<SlipCure> cure;
};

struct SlipResult {
    bool run = false;  // false: dynamics were not asked for
    std::array<MotorSlip, planner::kMaxAxes> motors{};
    std::vector<SlipWindow> windows;  // riskiest first
};

}  // namespace stepper_sim::run
