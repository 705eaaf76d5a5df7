/// How far an axis swings around one moment, from the full model of the nominal machine fed with ideal pulses. The screen finds the
/// moment (swing_bank.hpp) and may tell twice the truth; this tells the size. It gives no verdict (slip_judge.hpp does).
/// Model:   full_model.hpp, its motion begun steady `kSwingBefore_s` before the moment
/// Formula: amplitude = half of the largest minus the least of (load - command) within a period of the slow mode
/// Symbols: load, command = angles of the load and of the command at the motor [rad]
/// Valid:   swings that die within a second; one axis with a motor's worth where belts are crossed
/// Source:  none needed: a definition
/// Checked by: ShippedPair.SwingAndRingingAreThoseOfTheFullModelOverTheWholeProgram, MeasuredSwing.*
#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <vector>

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/dynamics/rate_phase.hpp"

namespace stepper_sim::dynamics {

/// Guess: what shakes an axis longer before a moment, and later after it, has no part in its swing then.
inline constexpr double kSwingBefore_s = 1.0, kSwingAfter_s = 0.1;

/// What an axis is told to do around a moment.
struct SwingStretch {
    std::vector<RatePhase> phases;
    double look_from_s = 0.0,
           look_to_s = 0.0;  // where the swing is wanted, since the first phase began
};

/// Keeps the last phases of an axis, and those around the moments that were marked last, one of each kind.
class StretchKeeper {
  public:
    enum class Kind : std::uint8_t { swing, crawl, ringing };

    /// Phases in order, without gaps.
    void add(const RatePhase& phase);
    /// What is looked for begins so long before the end of the phases added so far, in the move that ends next, and lasts so long.
    void mark(Kind kind, double ago_s, double lasts_s);
    void end_move();
    /// The stretch around the marked moment; empty where none was. Nothing may be added after it.
    SwingStretch take(Kind kind);

  private:
    struct Marked {
        double ago_s = -1.0;  // when it began; < 0: nothing waits for phases after it
        double lasts_s = 0.0;
        SwingStretch stretch;
    };
    void keep(Marked& marked) const;

    std::deque<RatePhase> recent_;
    double recent_s_ = 0.0;  // how long they take
    std::array<Marked, 3> marked_;
};

struct MeasuredSwing {
    bool lost = false;            // synchronism: the other figures say nothing
    double load_angle_rad = 0.0;  // electrical, largest while looked at
    double amplitude_rad = 0.0;   // of the load against its command, mechanical
};

/// Cost: 6 ms a second. `stretch` has at least one phase.
MeasuredSwing measure_swing(const AxisDynamics& axis, const SwingStretch& stretch);

}  // namespace stepper_sim::dynamics
