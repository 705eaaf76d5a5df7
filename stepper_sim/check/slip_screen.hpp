/// Screens every move of every motor for lost steps and keeps the stretches that only a full
/// simulation can judge. Runs the exact modal screen at both edges of the torque band: the low one
/// has less torque, the high one another natural frequency. slip_confirm.hpp simulates the windows.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/check/demand.hpp"
#include "stepper_sim/check/slip_result.hpp"
#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"
#include "stepper_sim/dynamics/windows.hpp"

namespace stepper_sim {

/// The largest modal ratio of one move, and whose it is.
struct MoveRatio {
    double ratio = 0.0;
    std::size_t motor = 0;
};

struct MotorScreen {
    std::vector<Window> windows;  // riskiest first
    MotorSlip worst;
};

class SlipScreen {
  public:
    /// `machine` and `models` must outlive it.
    SlipScreen(const Machine& machine, const MotorModels& models);

    /// `ratios`: filled in move by move, where given.
    void push(std::span<const planner::MotorMove> moves, std::span<MoveRatio> ratios = {});
    /// By motor slot; the screen is then empty.
    std::vector<MotorScreen> finish();

  private:
    struct Motor {
        ModalScreen low, high;
        WindowBuilder windows;
        double rad_per_m;
        double pass_ratio;
        MotorScreen result;
    };
    void push(std::size_t motor, std::span<const planner::MotorMove> moves,
              std::span<MoveRatio> ratios);

    std::vector<Motor> motors_;
};

/// The screen of one motor at one edge of its torque band.
ModalScreen motor_screen(const Machine& machine, const MotorModels& models, int slot, BandEdge edge,
                         Ringing ringing);

/// The modal ratio up to which this axis's moves pass without a simulation.
double pass_ratio(const Axis& axis);

}  // namespace stepper_sim
