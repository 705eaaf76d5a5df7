/// How far each move swings the rotor off its command, exactly and fast: the resonance screen of every phase of a program.
/// It is linear: what it passes is safe as far as the full model goes, what it does not pass is suspicious and goes to full_model.hpp.
/// Model:   two-mass small-swing model in modes, driven by phases of constant command acceleration and by speed jumps; dry friction takes
///          the sign of the command and is kept at rest; carriage modes measured by the user ring beside it without load on the motor
/// Formula: q'' + 2 z w q' + w^2 q = f0 + f1 t, solved exactly: decaying rotation about the moving rest point
///          p(t) = (f0 + f1 t)/w^2 - 2 z f1/w^3; jump dw: q' += (phi^T M 1) dw; ratio = max km |y1(t)|/T_av(w_c(t))
/// Symbols: y1, y2 = lag of rotor and load [rad]; w_c = command speed [rad/s]; T_av = torque available [N m];
///          km = magnetic stiffness [N m/rad]; f0, f1 = modal force and its rise (friction, gravity, J a); z = damping ratio
/// Valid:   the ratio is a screen, not a load angle: the sine torque curve bends from half its peak on
/// Source:  convolution solution of the damped oscillator, W. T. Thomson, Theory of Vibration with Applications, ch. 4 (from memory)
/// Checked by: OutsideVibration.ModalUpdateAgreesWithRungeKutta8, ModalScreen.FindsThePeakInsideAPhase
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/dynamics/rate_phase.hpp"
#include "stepper_sim/dynamics/torque_table.hpp"

namespace stepper_sim {

/// Modal ratios up to which a move passes without confirmation; fixed on seed 1 of bench/scenario_study.cpp.
inline constexpr double kSineRegulatorPass = 0.85;
inline constexpr double kAnyRegulatorPass = 0.70;
/// A stretch above the corner speed longer than this is confirmed whatever its ratio: the swing that grows there is not in the linear
/// model. Fixed on seeds 1 and 2: with 0.2 s seed 2 missed 0.53 % of the chopper's slips, with 0.1 s 0.06 %.
inline constexpr double kLongFastStretch_s = 0.1;

/// The swing left on the tool costs a few roots a move: whoever wants only the ratio leaves it out.
enum class Ringing { measured, left_out };

/// What one move does to one motor.
struct MoveScreen {
    double ratio = 0.0;             // largest lag torque over torque available
    double load_angle_rad = 0.0;    // electrical, at that moment, from the straight spring: Nr |y1|
    double peak_time_s = 0.0;       // of that moment, since the move began
    double peak_rate_rad_s = 0.0;   // command speed then, signed
    double corner_ringing_m = 0.0;  // free swing of the tool just after the corner into the move
    double ringing_m = 0.0;         // free swing left when the move ends, about steady motion
    double duration_s = 0.0;
    double start_rate_rad_s = 0.0;  // signed
    double end_rate_rad_s = 0.0;
    double top_rate_rad_s = 0.0;  // largest magnitude
    double fast_stretch_s =
        0.0;  // longest unbroken time above the corner speed, from moves before on
};

/// Fed with one motor's phases in order, from rest; one MoveScreen per move.
class ModalScreen {
  public:
    ModalScreen(const AxisDynamics& axis, TorqueTable torque, Ringing ringing = Ringing::measured);

    /// Advances over one phase; a start speed that differs from the last end speed is a jump. A
    /// phase of no duration only jumps.
    void phase(const RatePhase& phase);
    /// Comes to a stop (a jump if still moving) and rests.
    void rest(double duration_s) { phase({duration_s, 0.0, 0.0}); }
    /// Results since the last call. The ratio and its moment are exact where the ratio exceeds the floor;
    /// below it the search for the peak is left out and the ratio may come out lower, never above.
    MoveScreen end_move();
    /// Ratios up to this one need not be told apart (0 at first: every move is exact).
    void ratio_floor(double ratio) { ratio_floor_ = ratio; }

    /// Lag of rotor and of load now [rad], for checks against other methods.
    double rotor_lag_rad() const;
    double load_lag_rad() const;
    /// Free swing of the tool now, about steady motion at the present speed: sum of the modes'
    /// amplitudes [m].
    double ringing_m() const;

  private:
    struct Mode {
        double rate_rad_s, damping, decay_1_s, damped_rate_rad_s;
        double rate2, per_rate2, per_damped_rate_s, rest_per_slope_s;
        double drive;       // per unit of command acceleration
        double viscous;     // per unit of command speed
        double load_force;  // per N m of torque at the load
        double rotor_shape, load_shape;
        double tool_shape_m;                    // metres of tool per unit of the mode
        double step_cos, step_sin, step_decay;  // decayed rotation over one search step
        double lag_shape, bend_shape;           // magnitudes of the rotor's shape, and times rate2
        double q = 0.0, q_rate = 0.0;
    };
    struct Forcing {
        double rest_point, rest_slope;  // of the moving rest point at the start of the phase
    };
    struct Swing {
        double re = 0.0, im = 0.0;  // free swing about the rest point and its quadrature
    };
    struct Sample {
        double time_s, lag_rad, slope;
    };
    struct RestPoint {
        double lag_rad = 0.0, slope = 0.0;  // of the rotor, all modes together
    };
    struct Lag {
        double value_rad, slope, curvature;
    };
    using Swings = std::array<Swing, 2>;  // of the rotor modes

    static Mode make_mode(double rate_rad_s, double damping);
    Forcing forcing(const Mode& mode, double rate_rad_s, double acceleration_rad_s2) const;
    static Swing free_swing(const Mode& mode, const Forcing& forcing);
    void begin_move(const RatePhase& phase);
    void time_fast_stretch(const RatePhase& phase);
    void run(const RatePhase& phase);
    bool swing_is_gone() const;
    double ratio_per_rad(double fastest_rad_s) const;
    void search_peak(const RatePhase& phase, const RestPoint& rest, Swings swings);
    Lag lag_after(const RestPoint& rest, const Swings& swings, double time_s,
                  double offset_s) const;
    double turning_point_s(const RestPoint& rest, const Swings& swings, const Sample& before,
                           const Sample& after) const;
    void consider_turn(const RatePhase& phase, const RestPoint& rest, const Swings& swings,
                       const Sample& before, const Sample& after);
    double ratio_shift_s(const Lag& peak, double time_s, const RatePhase& phase) const;
    void consider(double lag_rad, double time_s, const RatePhase& phase);

    TorqueTable torque_;
    std::vector<Mode> modes_;  // rotor modes first
    std::size_t rotor_modes_ = 0;
    double magnetic_stiffness_Nm_rad_, coulomb_Nm_, gravity_Nm_, rotor_teeth_;
    double corner_rate_rad_s_, search_step_s_ = 0.0;
    double rate_rad_s_ = 0.0, direction_ = 0.0, fast_stretch_s_ = 0.0;
    double ratio_floor_ = 0.0;
    Ringing ringing_;
    bool move_begins_ = true;
    bool at_rest_ = false;  // stands still, and no swing left
    MoveScreen move_;
};

}  // namespace stepper_sim
