/// From the ratios of the screen to the stretches of program worth a full simulation, the riskiest first. It does not simulate
/// (slip_judge.hpp) and does not decide how many are affordable: the caller takes them from the front and reports how many were left.
/// Model:   neighbours are merged; a run-in before each lets the simulation arrive in the state the machine would be in
/// Formula: run-in = 3 / (z w), within 0.1 to 0.5 s; risk = ratio, twice that of a long stretch above the base speed
/// Symbols: z, w = damping ratio and natural rate of the slowest mode [rad/s]
/// Valid:   a free swing has died to e^-3 = 1/20 over the run-in, unless that would be longer than half a second
/// Source:  decay of a damped oscillator, e^(-z w t): textbook; the bounds are guesses
/// Checked by: Windows.RuleFollowsTheDampingOfTheAxis, Windows.CoverEverySuspiciousMove, Windows.RunInReachesBackToACalmStart
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <vector>

#include "stepper_sim/dynamics/modal_screen.hpp"

namespace stepper_sim::dynamics {

/// The most that is simulated before the first suspicious move of a window, and from its begin to
/// its end: a swing has come in or died long before. Guess: twice the longest of the programs in
/// configs/ (5.7 s and 3.9 s); at 100 kHz a million pulses.
inline constexpr double kLongestSimulated_s = 10.0;

struct WindowRule {
    double pass_ratio = kAnyRegulatorPass;  // moves below pass without confirmation
    double calm_rate_rad_s =
        0.0;  // speeds at which a simulation may begin: up to half the base speed is safe
    double run_in_s = 0.15;         // simulated before the first suspicious move, at least
    double longest_run_in_s = 1.0;  // how far back a calm start is looked for
    double tail_s = 0.05;    // simulated after the last suspicious move: a slip needs time to show
    double longest_s = 2.0;  // of suspicious moves in one window, unless a single move is longer
    double longest_simulated_s = kLongestSimulated_s;  // what is longer is cut off
    double long_fast_stretch_s = kLongFastStretch_s;   // confirmed whatever the ratio
    std::size_t most_kept = 10000;  // the riskiest are kept, the others only counted
};

/// The rule for one axis: a run-in over which free swings of the slowest mode die to a twentieth
/// (at most half a second), calm up to half the base speed.
WindowRule window_rule(const AxisDynamics& axis, double pass_ratio);

struct Window {
    double run_in_s = 0.0;          // program time at which the simulation begins
    double begin_s = 0.0;           // first suspicious move begins
    double end_s = 0.0;             // simulation ends
    double start_rate_rad_s = 0.0;  // at run_in_s
    double top_rate_rad_s =
        0.0;                    // largest commanded between run_in_s and end_s, as far as screened
    double ratio = 0.0;         // largest
    double ratio_time_s = 0.0;  // when
    double ratio_rate_rad_s = 0.0;   // command speed then, signed
    double worst_share = 0.5;        // of the spread, where it is largest
    bool long_fast_stretch = false;  // above the base speed
    bool cut_off = false;            // its move goes on after end_s, not simulated
    bool begins_inside = false;      // in the middle of a move: start_rate_rad_s is not known
    std::uint64_t run_in_move = 0, first_move = 0,
                  last_move = 0;  // counted from 0 in the order added
};

/// What windows are sorted by. Above the base speed the torque curve is an upper bound of which
/// simulations lost about half: a long cruise there counts twice.
double window_risk(const Window& window);

/// Windows of one motor; fed with its screened moves in order. Memory: the moves of the last run-in
/// and the windows kept.
class WindowBuilder {
  public:
    explicit WindowBuilder(const WindowRule& rule) : rule_(rule) {}

    /// `start_s`: program time at which the move begins.
    void add(const MoveScreen& move, double start_s);
    /// The windows kept, riskiest first; the builder is then empty.
    std::vector<Window> finish();
    /// Windows found so far, kept or not.
    std::uint64_t found() const { return found_; }

  private:
    struct Recent {
        double start_s, start_rate_rad_s, top_rate_rad_s;
        std::uint64_t move;
    };
    Window begin_window(const MoveScreen& move, double start_s) const;
    void close();

    WindowRule rule_;
    std::deque<Recent> recent_;
    std::vector<Window> kept_;
    Window open_;
    bool is_open_ = false;
    std::uint64_t moves_ = 0, found_ = 0;
};

}  // namespace stepper_sim::dynamics
