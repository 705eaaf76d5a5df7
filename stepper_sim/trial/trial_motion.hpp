/// What one rung of a trial makes the machine do: strokes of one motor at given settings, planned as the controller plans them.
/// The same strokes are written as a program (trial_program.hpp), simulated (trial_limit.hpp) and fitted (fit.hpp), so that all three
/// mean the same motion. Speeds, accelerations and speed steps are those of the axis, as in the machine file.
/// Model:   strokes about a mark; zig-zags reverse twice a period at frequencies evenly apart in the logarithm; on crossed belts a motor
///          is tried alone, along the diagonal that leaves the other one standing
/// Formula: stroke of duration T = 1/(2 f): (c + p) T/2, p = c + a T/2, while p <= v, else v T - (v - c)^2/a
/// Symbols: f = frequency [Hz], c = corner speed of a reversal, half the speed step, v = top speed [m/s], a = acceleration [m/s^2]
/// Valid:   no slower than the corner speed allows; a resonance rung tapers by 4 % either way
/// Source:  Newton; Guess: numbers of strokes and rests
/// Checked by: TrialMotion.ZigZagsReverseAtTheAskedFrequency, TrialMotion.OnCrossedBeltsOneMotorIsTriedAlone
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "planner/lookahead/planned_move.hpp"
#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/motor/asked_torque.hpp"

namespace stepper_sim::trial {

enum class TrialQuestion : std::uint8_t { speed, acceleration, step, resonance };
inline constexpr int kTrialQuestions = 4;

std::string_view to_word(TrialQuestion question);

/// The motion of a rung; the value in question is one of its fields.
struct RungMotion {
    TrialQuestion question = TrialQuestion::acceleration;
    double speed_m_s = 0.0, acceleration_m_s2 = 0.0, step_m_s = 0.0;
    double frequency_Hz = 0.0;  // of a resonance rung: two reversals in each period
    double stroke_m = 0.0;      // of the others
    // Acceleration and step end in a tapering zig-zag whose reversals sweep these frequencies.
    double sweep_from_Hz = 0.0, sweep_to_Hz = 0.0;
};

/// The same motion with another value of what is in question.
RungMotion with_value(RungMotion motion, double value);
double value_of(const RungMotion& motion);

/// The planner and the motor as seen from one axis.
struct TrialRig {
    planner::Kinematics kinematics = planner::Kinematics::cartesian;
    planner::AxisSet axes = planner::AxisSet();
    planner::PlanLimits limits;
    int slot = 0;
    planner::AxisArray way{};  // +-1 for each axis that takes part, 0 for the others
    double rad_per_m = 0.0;
    double motor_per_axis = 1.0;  // belt travel over axis travel: 2 along a diagonal
    dynamics::CurrentRegulator regulator = dynamics::CurrentRegulator::dead_beat;
};

TrialRig trial_rig(const machine::Machine& machine, const motor::MotorLoads& loads, int slot);

/// The axis's positions one after another, from the reference at 0 back to it, with the rests between them.
struct Stroke {
    double to_m = 0.0;
    double rest_before_s = -1.0;  // as in planner::Move
};
std::vector<Stroke> rung_strokes(const RungMotion& motion);

/// Pause between strokes: swings of one die before the next begins.
inline constexpr double kTrialRest_s = 0.3;

/// The motor's phases during one rung, ending in a short rest.
std::vector<dynamics::RatePhase> rung_phases(const TrialRig& rig, const RungMotion& motion);

/// The same where the strokes, at `feed_m_s`, were written for another value than the settings in `motion`.
std::vector<dynamics::RatePhase> stroke_phases(const TrialRig& rig,
                                               const std::vector<Stroke>& strokes, double feed_m_s,
                                               const RungMotion& motion);

/// Simulates rungs together; outcome i belongs to motion i. `until_lost`: of a rung that loses steps nothing more is asked.
std::vector<dynamics::WindowOutcome> run_rungs(const TrialRig& rig,
                                               const dynamics::AxisDynamics& axis,
                                               const std::vector<RungMotion>& motions,
                                               bool until_lost = false);

}  // namespace stepper_sim::trial
