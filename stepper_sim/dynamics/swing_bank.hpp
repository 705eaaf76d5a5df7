/// How far each move may swing the rotor off its command, whatever the machine is within its spread: the resonance screen of every phase
/// of a program. Seven variants side by side, whose natural frequencies sweep the band they may have, and the nominal one. A bound, not
/// a time history: what it passes holds as far as the full model goes, what it does not pass is suspicious and goes to full_model.hpp.
/// modal_screen.hpp is the exact history of one variant.
/// Model:   the modes of axis_dynamics.hpp as free swings about the torque that the motion asks; acceleration and speed steps kick them,
///          damping and dry friction wear them down. Friction opposes the load's own motion: while the swing is slower than the command
///          it is a constant torque, once it is faster it is mostly a loss
/// Formula: kicks in torque at the rotor: Z -= c_a da + c_f Tc ds, Z -= i c_w dw; turn: Z <- Z e^{(-z w + i w_d) h};
///          x = |w_c|/(speed amplitude of the load) < 1: ds = (2/pi) asin x, |Z| falls by (2/pi) c_f w Tc sqrt(1 - x^2) a second;
///          ratio = (|J a + Tc + Bw + Tg| + sum |Z| + step ripple)/(torque available at the low edge, less the margin)
/// Symbols: Z = swing of a mode as torque at the rotor [N m], c_a = km phi_r p/w^2, c_f = km phi_r phi_l/w^2, c_w = km phi_r p/w_d (phi_r,
///          phi_l, p, w, z: axis_dynamics.hpp); Tc = dry friction [N m]; w_c = command speed [rad/s]; step ripple: step_ripple.hpp
/// Valid:   as axis_dynamics.hpp; frequencies between two variants (5 to 10 % apart) are met to half of that
/// Source:  describing functions of a relay with a bias, A. Gelb, W. E. Vander Velde, Multiple-Input Describing Functions (1968) (from
///          memory); equivalent damping of dry friction 4F/(pi w A), Thomson, Theory of Vibration with Applications (from memory)
/// Checked by: SwingBank.*, SlipScreen.IsNotBelowTheExactScreenOfTheNominalMachine, SlipScreen.MoreFrictionDoesNotRingMore; bench/adversary.cpp
#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"
#include "stepper_sim/dynamics/rate_phase.hpp"
#include "stepper_sim/dynamics/step_ripple.hpp"
#include "stepper_sim/dynamics/torque_table.hpp"

namespace stepper_sim::dynamics {

inline constexpr std::size_t kSpreadLanes = 7;  // variants that a ratio is the worst of
inline constexpr std::size_t kNominalLane = 7;  // what is most likely: swing and ringing as shown
inline constexpr std::size_t kBankLanes = 8;

/// Where a lane of the spread stands between the softest and the stiffest variant, 0 to 1.
inline double spread_share(std::size_t lane) {
    return static_cast<double>(lane) / static_cast<double>(kSpreadLanes - 1);
}

using BankAxes = std::array<AxisDynamics, kBankLanes>;

/// What one move does to one swinging axis, over the spread.
struct MoveSwing {
    MoveScreen screen;  // ratio over the spread; load angle and ringing of the nominal lane
    double nominal_ratio = 0.0;  // of the nominal lane, over the low torque without margin
    double ripple_ratio =
        0.0;  // the part of the ratio that comes from single steps, at its largest
};

class SwingBank {
  public:
    /// `weakest`: least torque available against speed; `low`: the same without a margin. `most_friction`: the most dry friction there
    /// may be, over that of the spread.
    SwingBank(const BankAxes& axes, double most_friction, TorqueTable weakest, TorqueTable low);

    /// Advances over one phase, as ModalScreen::phase.
    void phase(const RatePhase& phase);
    /// Results since the last call.
    MoveSwing end_move();
    /// Free swing of the tool now, nominal [m].
    double ringing_m() const;

  private:
    static constexpr std::size_t kWidth = 4, kRows = kBankLanes / kWidth, kModes = 2;
    using Row = double __attribute__((vector_size(kWidth * sizeof(double))));
    struct ModeRow {
        Row decay_1_s{}, damped_rate_rad_s{};
        Row per_accel{};     // c_a
        Row per_friction{};  // c_f Tc: torque of the mode under the whole dry friction
        Row per_jump{};      // c_w
        Row loss_Nm_s{};     // (2/pi) c_f w Tc
        Row load_speed{};    // speed amplitude of the load per N m [rad/s]
        Row re{}, im{};
    };
    struct Carriage {  // a vibration that the user measured: it shakes the tool alone
        double decay_1_s, damped_rate_rad_s, rate2, metres_per_rad;
        double re = 0.0, im = 0.0;
    };

    void set_mode(std::size_t lane, std::size_t mode, const AxisDynamics& axis,
                  const VibrationMode& shape);
    void run(const RatePhase& phase);
    void kick(const RatePhase& phase, double jump_rad_s);
    void turn(const RatePhase& phase);
    void wear(double duration_s);
    void look(const RatePhase& phase);

    std::array<std::array<ModeRow, kModes>, kRows> modes_{};
    std::array<Row, kRows> inertia_kg_m2_{}, most_coulomb_Nm_{}, friction_share_{}, loss_share_{};
    std::array<double, kModes> tool_m_Nm_{};  // of the nominal lane: tool per torque of the mode
    std::vector<Carriage> carriages_;
    StepRipple ripple_, nominal_ripple_;
    TorqueTable weakest_, low_;
    double gravity_Nm_, viscous_Nms_rad_, rotor_teeth_, peak_torque_Nm_;
    double metres_per_rad_;
    double rate_rad_s_ = 0.0, acceleration_rad_s2_ = 0.0, direction_ = 0.0;
    bool move_begins_ = true, at_rest_ = false, elastic_ = true;
    MoveSwing move_;
};

}  // namespace stepper_sim::dynamics
