/// Screens every move for lost steps and keeps the stretches that only a full simulation can judge. The screen looks at all variants of the
/// machine's spread at once (swing_bank.hpp). slip_confirm.hpp simulates the windows.
/// Model:   what swings is an axis with its motor; on crossed belts x and y each with a motor's worth, and what a motor sees of both adds
/// Formula: variant at share s of the spread: torque factor = least (most/least)^s, least = (1 - margin) low/nominal, most = high/nominal;
///          crossed belts: x = (a + b)/2, y = (a - b)/2, ratio = ratio_x + ratio_y
/// Symbols: s = 0 for the softest, heaviest and weakest, 1 for the stiffest, lightest and strongest; a, b = turns of the two motors [rad]
/// Valid:   small swings, below pass_ratio() of the torque; all variants but the nominal one have the least friction
/// Source:  derived here; the pass ratios are fitted (modal_screen.hpp)
/// Checked by: SlipScreen.IsNotBelowTheExactScreenOfTheNominalMachine, SlipScreen.CrossedBeltsAreOnePlantAndOtherAxesTheirOwn;
///             bench/adversary.cpp
#pragma once

#include <cstdint>
#include <limits>
#include <span>
#include <vector>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/dynamics/fast_stretch.hpp"
#include "stepper_sim/dynamics/measured_swing.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"
#include "stepper_sim/dynamics/swing_bank.hpp"
#include "stepper_sim/dynamics/windows.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/slip_result.hpp"

namespace stepper_sim::run {

/// The largest swing of one move, nominal, and whose it is.
struct MoveRatio {
    double ratio = 0.0;
    std::size_t motor = 0;
};

struct MotorScreen {
    std::vector<dynamics::Window>
        windows;  // of the plant this motor is the first of, riskiest first
    MotorSlip worst;
    // Of the axis: around the places of `worst`, and its slowest move; empty: it does not move, or belts are crossed.
    dynamics::SwingStretch swing, crawl, ringing;
};

/// Motors that move together: one, or the two of crossed belts.
std::vector<std::vector<std::size_t>> plants_of(const machine::Machine& machine);

class SlipScreen {
  public:
    /// `machine` and `models` must outlive it. `margin`: share of the torque that must stay unused.
    SlipScreen(const machine::Machine& machine, const MotorModels& models, double margin);

    /// `ratios`: filled in move by move, where given.
    void push(std::span<const planner::MotorMove> moves, std::span<MoveRatio> ratios = {});
    /// By motor slot; the screen is then empty.
    std::vector<MotorScreen> finish();

  private:
    struct Axis {
        std::size_t slot;
        dynamics::SwingBank bank;
        dynamics::FastStretch fast;  // of the motor of this slot
        double rad_per_m;
        MotorSlip worst;
        dynamics::StretchKeeper stretches;
        double slowest_rad_s = std::numeric_limits<double>::infinity();  // of moves
    };
    struct Plant {
        std::vector<Axis> axes;
        dynamics::WindowBuilder windows;
    };
    void push(Plant& plant, std::span<const planner::MotorMove> moves, std::span<MoveRatio> ratios);

    std::vector<Plant> plants_;
};

/// The exact screen of one swinging axis at one edge of its torque band.
dynamics::ModalScreen motor_screen(const machine::Machine& machine, const MotorModels& models,
                                   int slot, dynamics::BandEdge edge, dynamics::Ringing ringing);

/// The ratio up to which this axis's moves pass without a simulation.
double pass_ratio(const stepper_sim::machine::Axis& axis);

}  // namespace stepper_sim::run
