/// Follows the planned motion through the corners of one program: how far each leaves the tool swinging, and the time it costs to slow
/// down for it. A part of corner_quality.hpp. An arc's own chords make no corners, nor do starts and stops.
/// Model:   the small-swing modes of dynamics/modal_screen.hpp at the low edge of the torque band, where they ring most
/// Formula: ringing = sum of the modes' amplitudes just after the corner; alone and undamped a jump of speed dv leaves dv/w;
///          dwell = t - s/v of the stretch that slows down to the corner, and the same of the one that speeds up from it
/// Symbols: w = natural rate [rad/s], t = duration [s] and s = length [m] of a stretch, v = its highest speed [m/s]
/// Valid:   the tool's swing includes what earlier corners left; small swings
/// Source:  free vibration from an initial speed, W. T. Thomson, Theory of Vibration with Applications, ch. 2 (from memory)
/// Checked by: CornerQuality.ASharpTurnRingsByItsJumpOverTheNaturalRate
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"
#include "stepper_sim/run/demand.hpp"

namespace stepper_sim::limits {

struct Corner {
    std::uint64_t line = 0;  // of the move after it; 0: no corner
    double jump_m_s = 0.0;   // of the axis's speed
    double ringing_m = 0.0;
    double dwell_s = 0.0;
};

class CornerWatch {
  public:
    /// Machine and models must outlive it.
    CornerWatch(const machine::Machine& machine, const run::MotorModels& models);

    void push(std::span<const planner::MotorMove> moves);
    /// The program ends, after a dwell that no move followed.
    void finish(double rest_s);

    /// By axis slot: the corner at which this axis jumps and leaves most ringing.
    const Corner& most_ringing(std::size_t slot) const { return axes_[slot].most_ringing.corner; }
    double top_speed_m_s(std::size_t slot) const { return axes_[slot].top_speed_m_s; }
    /// The corner that costs most time, as the axis that jumps most sees it.
    const Corner& longest_dwell() const { return longest_dwell_; }
    double duration_s() const { return duration_s_; }

  private:
    /// A stretch over which the speed only falls, or only rises.
    struct Stretch {
        double time_s = 0.0, length_m = 0.0, top_m_s = 0.0;

        void add(const planner::Phase& phase);
        /// Against running on at its highest speed.
        double lost_s() const;
    };
    struct Watched {
        Corner corner;
        Stretch rise;
        bool rising = false;  // the speed still rises from it

        /// Adds the time lost by speeding up.
        void end_rise();
    };
    struct AxisWatch {
        dynamics::ModalScreen screen;
        double rad_per_m;
        Watched most_ringing;
        double top_speed_m_s = 0.0;
        double unit = 0.0, last_unit = 0.0;  // displacement per metre of path, now and before
        double ringing_m = 0.0;
    };

    void corner(const planner::MotorMove& move);
    void phase(const planner::Phase& phase);
    void end_rises();

    std::vector<AxisWatch> axes_;
    Watched last_corner_;  // the last lowest point of the speed
    Corner longest_dwell_;
    Stretch fall_;  // down to here; none while the speed does not fall
    double last_speed_m_s_ = 0.0, duration_s_ = 0.0;
    bool moves_ = false;
};

}  // namespace stepper_sim::limits
