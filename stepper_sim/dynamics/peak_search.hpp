/// Where in a phase the lag of the rotor comes nearest to the torque available. How the modes are driven is modal_screen.hpp's business.
/// Model:   lag = a rest point that moves evenly + decaying swings of two modes; torque from a table over speed
/// Formula: ratio = km |lag| / T(w), largest over the phase: a sample every eighth of the fastest mode's period, bounds between them,
///          and Newton's method where the slope of lag over torque may turn
/// Symbols: km = magnetic stiffness [N m/rad], T = torque available [N m], w = speed of the command [rad/s]
/// Valid:   no peak missed by more than 0.25 % in 60,000 random phases (of the test named first); ratios below the floor may stay lower
/// Source:  Newton's method and cubic interpolation: textbook; bounds derived here
/// Checked by: ModalScreen.FindsThePeakInsideAPhase, ModalScreen.FindsWhereTheRatioTurnsBesideTheLag,
///             ModalScreen.AFloorChangesNoRatioAboveItAndRaisesNone
#pragma once

#include <array>
#include <cstddef>

#include "stepper_sim/dynamics/rate_phase.hpp"
#include "stepper_sim/dynamics/swing.hpp"
#include "stepper_sim/dynamics/torque_table.hpp"

namespace stepper_sim::dynamics {

/// The modes that the rotor takes part in; a rigid axis has one, the other lane is then zero.
struct RotorModes {
    Pair decay_1_s{}, damped_rate_rad_s{}, rate2{}, shape{};
};

/// The lag of the rotor over one phase: a rest point that moves evenly, and free swings about it.
struct LagCourse {
    RatePhase phase;
    double rest_rad = 0.0, rest_slope = 0.0;
    Swing swing;                // at the start
    double end_rad = 0.0;       // lag at the end
    double since_move_s = 0.0;  // from the start of the move to that of the phase
};

/// The largest lag torque over torque available of a move.
struct LagPeak {
    double ratio = 0.0;
    double lag_rad = 0.0;
    double time_s = 0.0;      // since the move began
    double rate_rad_s = 0.0;  // command speed then, signed
};

class PeakSearch {
  public:
    PeakSearch(const RotorModes& modes, double magnetic_stiffness_Nm_rad, TorqueTable torque);

    /// Raises `best` to the largest ratio of the phase. Ratios up to the floor need not be told apart: the search is left out there and
    /// `best` may stay lower, never higher.
    void search(const LagCourse& course, double floor, LagPeak& best) const;
    /// Raises `best` if the ratio at this moment of the phase is larger.
    void consider(const LagCourse& course, double lag_rad, double time_s, LagPeak& best) const;
    /// Lag that may reach a ratio of 1 at some speed up to this one: none smaller does.
    double rad_per_ratio(double fastest_rad_s) const;

  private:
    static constexpr std::size_t kPairs = 2, kSamples = 2 * kPairs;
    using Samples = std::array<Pair, kPairs>;
    /// Of one mode: what a unit of its swing, and of the quadrature, at the first sample is worth in lag and slope at two samples.
    struct Weights {
        Pair lag_re{}, lag_im{}, slope_re{}, slope_im{};
    };
    struct Lag {
        double value_rad, slope, curvature, rise;  // and its derivatives
    };
    class Run;

    void set_weights(std::size_t mode);
    Lag lag_at(const LagCourse& course, const Swing& swing, double time_s) const;
    Swing swing_after(const Swing& swing, double time_s) const;
    double torque_rise_1_s(const RatePhase& phase, double time_s) const;
    double way_to_turn_s(const Lag& lag, double torque_rise_1_s) const;
    void consider_turn(const LagCourse& course, const Swing& swing, double time_s,
                       LagPeak& best) const;

    RotorModes modes_;
    Pair lag_shape_{};      // magnitudes of the rotor's shape
    Pair bend_shape_s2_{};  // the same for how far the lag may leave its chord within a step
    double magnetic_stiffness_Nm_rad_, rad_per_Nm_;
    TorqueTable torque_;
    double step_s_ = 0.0;                 // from sample to sample
    std::array<Turn, kSamples> turns_{};  // of the modes, from the first sample of a row to each
    Turn row_turn_{}, back_turn_{};       // to the next row, and a step back
    Pair last_decay_{}, row_decay_{};     // of amplitudes, to the last sample and to the next row
    Samples times_s_{};                   // of the samples, from the first
    std::array<std::array<Weights, 2>, kPairs> weights_{};  // of each mode
};

}  // namespace stepper_sim::dynamics
