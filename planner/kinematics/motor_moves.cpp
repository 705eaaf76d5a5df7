#include "planner/kinematics/motor_moves.hpp"

#include <utility>

#include "planner/profile/trapezoid.hpp"

namespace planner {

MotorMover::MotorMover(Kinematics kinematics, AxisSet axes)
    : kinematics_(kinematics), axes_(std::move(axes)) {}

void MotorMover::push(std::span<const PlannedMove> planned, std::vector<MotorMove>& motor_moves) {
    for (const PlannedMove& plan : planned) {
        const Move& move = plan.move;
        if (move.rest_before_s > 0.0) {
            clock_.advance(move.rest_before_s);
        }

        MotorMove& motor_move = motor_moves.emplace_back();
        motor_move.line = move.line;
        motor_move.length_m = move.length_m;
        motor_move.start = clock_;
        motor_move.rest_before_s = move.rest_before_s;
        motor_move.rapid = move.rapid;
        motor_move.arc_chord = move.arc_chord;
        motor_move.profile = trapezoid(move.length_m, plan.entry_speed_m_s, plan.nominal_speed_m_s,
                                       plan.exit_speed_m_s, plan.acceleration_m_s2);
        motor_move.tool_start_m = move.start_m;
        motor_move.tool_end_m = move.end_m;
        motor_move.motor_start_m = to_motors(kinematics_, axes_, move.start_m);
        motor_move.motor_end_m = to_motors(kinematics_, axes_, move.end_m);
        clock_.advance(motor_move.profile.duration_s);
    }
}

}  // namespace planner
