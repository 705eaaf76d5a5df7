/// Follows the planned motion and keeps, for every axis and motor, the worst moments: fastest, farthest, most torque used, largest
/// speed step. Resonance is stepper_sim/dynamics' business.
/// Model:   quasi-static: torque asked against torque available at each phase's ends, and each corner's jump against what the rotor follows
/// Formula: use = asked / available, at the low and at the high edge of the band; jump = |w_after - w_before|, at the faster side's torque
/// Symbols: asked, available = torques [N m] (asked_torque.hpp, available_torque.hpp), w = motor speed [rad/s]
/// Valid:   the worst of a phase is at one of its ends where the torque available falls with speed; a dip between is not seen
/// Source:  Newton; the jump that is followed: speed_step.hpp
/// Checked by: Demand.KeepsTheWorstOfEveryPhaseEndAndEveryCorner, StepUse.OfEachEdgeIsTheJumpOverWhatItsTorqueFollows,
///             MotorModels.InertiaIsThatOfRotorAndLoad
#pragma once

#include <array>
#include <span>
#include <vector>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/motor/asked_torque.hpp"
#include "stepper_sim/motor/available_torque.hpp"
#include "stepper_sim/run/program_result.hpp"

namespace stepper_sim::run {

/// The motors of a machine as the checks see them: built once, read by every check.
struct MotorModels {
    motor::MotorLoads loads;
    std::vector<motor::AvailableTorque> available;  // by motor slot, as are the inertias
    std::vector<double>
        inertia_kg_m2;  // all that turns with the motor's shaft, moved masses included
};

MotorModels motor_models(const machine::Machine& machine);

/// The fastest this motor's belt or nut is ever asked to move: its axes all at their top speeds.
double top_travel_m_s(const machine::Machine& machine, const motor::MotorLoads& loads,
                      std::size_t motor);

/// A jump of shaft speed against what the rotor follows (motor/speed_step.hpp) while `asked_Nm` is
/// asked of it steadily.
struct StepUse {
    double low = 0.0, high = 0.0;  // jump over the limit at the low and at the high torque
    double limit_low_rad_s = 0.0;
};
StepUse step_use(const MotorModels& models, std::size_t motor, double jump_rad_s, double low_Nm,
                 double high_Nm, double asked_Nm);

class Demand {
  public:
    /// `machine` and `models` must outlive it.
    Demand(const machine::Machine& machine, const MotorModels& models);

    void push(std::span<const planner::MotorMove> moves);
    /// The machine comes to rest; writes axes, motors, moves, duration and path into `result`.
    void finish(ProgramResult& result);

  private:
    void add_move(const planner::MotorMove& move);
    bool begin_motor(std::size_t motor, const planner::AxisArray& unit, double peak_m_s,
                     double peak_m_s2);
    void add_corner(const planner::MotorMove& move, const planner::AxisArray& unit,
                    const planner::Phase& first, double speed_before_m_s);
    void add_phases(std::size_t motor, const planner::MotorMove& move,
                    const planner::AxisArray& unit);
    void add_torque(std::size_t motor, const planner::MotorMove& move,
                    const planner::AxisArray& unit, const planner::Phase& phase, double at_s,
                    double after_s);
    void add_length(const planner::MotorMove& move);
    void keep_range(int slot, double position_m, const planner::MotorMove& move, double after_s);

    /// A motor's turns, and a torque that asked_Nm() never exceeds, as sums over its two axes.
    struct Motor {
        std::array<std::size_t, 2> axis{};
        std::array<double, 2> rad_per_m{};  // of the axis, with its sign
        double still_Nm = 0.0;              // friction and weight
        std::array<double, 2> viscous_Nm_per_m_s{}, inertia_Nm_per_m_s2{};
        // Of the present move:
        double turn_rad_m = 0.0;  // per metre of path
        double most_asked_Nm = 0.0;
        // Of the move before:
        double last_turn_rad_m = 0.0;
        bool held_still = false;  // seen at rest during a move
    };

    const MotorModels& models_;
    int count_;
    std::array<int, 3> tool_slots_;  // X Y Z; -1: no such axis
    int e_slot_;
    ProgramResult result_;
    std::array<Motor, planner::kMaxAxes> motors_{};
    double last_speed_m_s_ = 0.0;
    bool any_ = false;
};

}  // namespace stepper_sim::run
