#include "stepper_sim/trial/trial_motion.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "planner/kinematics/motor_moves.hpp"
#include "planner/lookahead/lookahead.hpp"
#include "planner/profile/trapezoid.hpp"
#include "stepper_sim/dynamics/machine_axis.hpp"
#include "stepper_sim/dynamics/screen_move.hpp"
#include "stepper_sim/dynamics/step_edges.hpp"

namespace stepper_sim::trial {

namespace {

// A slip shows within a few swings of the slowest axis.
constexpr double kSettle_s = 0.06;
// In a simulation swings of one stroke are given this long before the next; the machine waits longer.
constexpr double kSimulatedRest_s = 0.1;
constexpr int kResonanceStrokes = 16;  // of a resonance rung, about one frequency
constexpr int kSweepStrokes = 48;      // through all of them: 1.5 % further from one to the next
// Within a rung the reversals taper over this share of the frequency, either way.
constexpr double kTaper = 0.04;

double duration_s(const std::vector<dynamics::RatePhase>& phases) {
    double sum_s = 0.0;
    for (const dynamics::RatePhase& phase : phases)
        sum_s += phase.duration_s;
    return sum_s;
}

double top_rate_rad_s(const std::vector<dynamics::RatePhase>& phases) {
    double top = 0.0;
    for (const dynamics::RatePhase& phase : phases)
        top = std::max({top, std::fabs(phase.start_rate_rad_s), std::fabs(phase.end_rate_rad_s())});
    return top;
}

/// Appends strokes about the mark whose reversals pass evenly through the frequencies.
void add_zigzag(const RungMotion& motion, double from_Hz, double to_Hz, int count,
                std::vector<Stroke>& strokes) {
    double sign = 1.0;
    for (int i = 0; i < count; ++i, sign = -sign) {
        const double frequency_Hz = from_Hz * std::pow(to_Hz / from_Hz, i / (count - 1.0));
        const double stroke_m = planner::length_in(0.5 / frequency_Hz, 0.5 * motion.step_m_s,
                                                   motion.speed_m_s, motion.acceleration_m_s2);
        strokes.push_back({0.5 * sign * stroke_m, i == 0 ? kTrialRest_s : -1.0});
    }
    strokes.push_back({0.0, -1.0});
}

planner::PlanLimits limits_of(const TrialRig& rig, const RungMotion& motion) {
    planner::PlanLimits limits = rig.limits;
    for (std::size_t i = 0; i < rig.way.size(); ++i) {
        if (rig.way[i] == 0.0) continue;
        limits.max_speed_m_s[i] = motion.speed_m_s;
        limits.max_acceleration_m_s2[i] = motion.acceleration_m_s2;
        limits.speed_step_m_s[i] = motion.step_m_s;
    }
    return limits;
}

}  // namespace

std::string_view to_word(TrialQuestion question) {
    constexpr std::array<std::string_view, kTrialQuestions> kWords{"speed", "acceleration", "step",
                                                                   "resonance"};
    return kWords[static_cast<std::size_t>(question)];
}

RungMotion with_value(RungMotion motion, double value) {
    switch (motion.question) {
        case TrialQuestion::speed:
            motion.speed_m_s = value;
            break;
        case TrialQuestion::acceleration:
            motion.acceleration_m_s2 = value;
            break;
        case TrialQuestion::step:
            motion.step_m_s = value;
            break;
        case TrialQuestion::resonance:
            motion.frequency_Hz = value;
            break;
    }
    return motion;
}

double value_of(const RungMotion& motion) {
    switch (motion.question) {
        case TrialQuestion::speed:
            return motion.speed_m_s;
        case TrialQuestion::acceleration:
            return motion.acceleration_m_s2;
        case TrialQuestion::step:
            return motion.step_m_s;
        case TrialQuestion::resonance:
            break;
    }
    return motion.frequency_Hz;
}

TrialRig trial_rig(const machine::Machine& machine, const motor::MotorLoads& loads, int slot) {
    TrialRig rig;
    rig.kinematics = machine.kinematics;
    rig.axes = machine.program.axes;
    rig.limits = machine::plan_limits(machine);
    rig.limits.path_acceleration_m_s2 = std::numeric_limits<double>::infinity();
    rig.slot = slot;
    const auto s = static_cast<std::size_t>(slot);
    rig.way = planner::motor_matrix(rig.kinematics, rig.axes)[s];  // moves this motor, no other
    rig.motor_per_axis = planner::to_motors(rig.kinematics, rig.axes, rig.way)[s];
    rig.rad_per_m = dynamics::rad_per_m(loads, slot);
    rig.regulator = machine.axes[s].driver.regulator == machine::Regulator::sine
                        ? dynamics::CurrentRegulator::dead_beat
                        : dynamics::CurrentRegulator::mixed_decay;
    return rig;
}

std::vector<Stroke> rung_strokes(const RungMotion& motion) {
    std::vector<Stroke> strokes;
    if (motion.question == TrialQuestion::resonance) {
        add_zigzag(motion, motion.frequency_Hz / (1.0 + kTaper),
                   motion.frequency_Hz * (1.0 + kTaper), kResonanceStrokes, strokes);
        return strokes;
    }
    const double half_m = 0.5 * motion.stroke_m;
    // Corners are what a speed step is about; otherwise each stroke is let die.
    const double between_s = motion.question == TrialQuestion::step ? -1.0 : kTrialRest_s;
    strokes = {{half_m, kTrialRest_s}, {-half_m, between_s}, {0.0, between_s}};
    if (motion.sweep_from_Hz > 0.0)
        add_zigzag(motion, motion.sweep_from_Hz, motion.sweep_to_Hz, kSweepStrokes, strokes);
    return strokes;
}

std::vector<dynamics::RatePhase> rung_phases(const TrialRig& rig, const RungMotion& motion) {
    return stroke_phases(rig, rung_strokes(motion), motion.speed_m_s, motion);
}

std::vector<dynamics::RatePhase> stroke_phases(const TrialRig& rig,
                                               const std::vector<Stroke>& strokes, double feed_m_s,
                                               const RungMotion& motion) {
    double way_m = 0.0;
    for (const double part : rig.way)
        way_m = std::hypot(way_m, part);
    std::vector<planner::Move> moves;
    double at_m = 0.0;
    for (const Stroke& stroke : strokes) {
        planner::Move move;
        move.rest_before_s = std::min(stroke.rest_before_s, kSimulatedRest_s);
        move.length_m = std::fabs(stroke.to_m - at_m) * way_m;
        if (move.length_m <= 0.0) continue;
        move.feed_m_s = feed_m_s * way_m;
        for (std::size_t i = 0; i < rig.way.size(); ++i) {
            move.start_m[i] = rig.way[i] * at_m;
            move.end_m[i] = rig.way[i] * stroke.to_m;
        }
        at_m = stroke.to_m;
        moves.push_back(move);
    }
    planner::LookAhead look_ahead(limits_of(rig, motion));
    std::vector<planner::PlannedMove> planned;
    look_ahead.push(moves, planned);
    look_ahead.finish(planned);
    planner::MotorMover mover(rig.kinematics, rig.axes);
    std::vector<planner::MotorMove> motor_moves;
    mover.push(planned, motor_moves);
    std::vector<dynamics::RatePhase> phases;
    for (const planner::MotorMove& move : motor_moves)
        dynamics::append_rate_phases(move, rig.slot, rig.rad_per_m, phases);
    phases.push_back({kSettle_s, 0.0, 0.0});
    return phases;
}

std::vector<dynamics::WindowOutcome> run_rungs(const TrialRig& rig,
                                               const dynamics::AxisDynamics& axis,
                                               const std::vector<RungMotion>& motions,
                                               bool until_lost) {
    std::vector<std::vector<dynamics::StepEdge>> edges;
    std::vector<dynamics::WindowRun> runs;
    edges.reserve(motions.size());
    for (const RungMotion& motion : motions) {
        const std::vector<dynamics::RatePhase> phases = rung_phases(rig, motion);
        edges.push_back(dynamics::ideal_edges(phases, dynamics::microstep_angle_rad(axis)));
        runs.push_back({&axis, edges.back(), duration_s(phases), 0.0, top_rate_rad_s(phases),
                        rig.regulator, 1.0, until_lost});
    }
    std::vector<dynamics::WindowOutcome> outcomes(runs.size());
    dynamics::simulate(runs, outcomes);
    return outcomes;
}

}  // namespace stepper_sim::trial
