/// The stage that gathers a Recording (recording.hpp) while a program streams past. It costs about as much as the checks themselves and
/// is only there when pictures are wanted. Moments looked at closely come later, from moments.hpp.
#pragma once

#include <span>
#include <vector>

#include "planner/kinematics/motor_move.hpp"
#include "stepper_sim/controller/processor_cost.hpp"
#include "stepper_sim/picture/envelope.hpp"
#include "stepper_sim/picture/path_map.hpp"
#include "stepper_sim/picture/recording.hpp"
#include "stepper_sim/run/demand.hpp"
#include "stepper_sim/run/move_watcher.hpp"

namespace stepper_sim::picture {

class Recorder final : public run::MoveWatcher {
  public:
    /// `machine` and `models` must outlive it.
    Recorder(const machine::Machine& machine, const run::MotorModels& models);

    void push(std::span<const planner::MotorMove> moves,
              std::span<const run::MoveRatio> ratios) override;
    /// Everything but moments, places and lines.
    Recording finish();

  private:
    struct Motor {
        EnvelopeBuilder rate;
        double last_sign = 0.0, last_reversal_s = -1.0;
        double worst_use = 0.0;
        MotorRecord record;
    };
    void add_torque(const planner::MotorMove& move, MapPiece& worst);
    void add_rates(const planner::MotorMove& move);
    void add_reversals(const planner::MotorMove& move);
    double load_at(std::span<const double> rates_hz) const;

    const machine::Machine& machine_;
    const run::MotorModels& models_;
    std::size_t count_;
    std::vector<Motor> motors_;
    PathMapBuilder map_;
    EnvelopeBuilder load_;
    double end_s_ = 0.0;
};

}  // namespace stepper_sim::picture
