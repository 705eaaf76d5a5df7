/// Machines and motion for the controller's tests: a three-motor machine, and random programs
/// planned for it.
#pragma once

#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include "planner/kinematics/motor_moves.hpp"
#include "planner/lookahead/lookahead.hpp"
#include "stepper_sim/controller/pulse_run.hpp"

namespace stepper_sim::testing {

inline constexpr int kMotors = 3;

inline machine::Axis example_axis(char letter, double steps_per_mm) {
    machine::Axis axis;
    axis.letter = letter;
    axis.settings.steps_per_mm = steps_per_mm;
    return axis;
}

/// 80, 100 and 400 steps/mm; a 2 MHz tick, so that rounding shows; a processor fast enough for
/// anything here.
inline machine::Machine example_machine(machine::ControllerStyle style) {
    machine::Machine machine;
    machine.axes = {example_axis('X', 80.0), example_axis('Y', 100.0), example_axis('Z', 400.0)};
    machine.program.axes = planner::AxisSet("XYZ");
    machine::ControllerPart& controller = machine.controller;
    controller.style = style;
    controller.clock_hz = 1'000'000'000;
    controller.tick_hz = 2'000'000;
    controller.interrupt_cycles = 10;
    controller.event_cycles = 10;
    controller.motor_cycles = 10;
    controller.base_rate_hz = 100'000;
    controller.pulse_high = planner::from_si<planner::Time>(2e-6);
    controller.direction_setup = planner::from_si<planner::Time>(1e-6);
    controller.direction_hold = planner::from_si<planner::Time>(1.5e-6);
    return machine;
}

inline planner::PlanLimits example_limits() {
    planner::PlanLimits limits;
    limits.axis_count = kMotors;
    limits.max_speed_m_s = {0.2, 0.15, 0.02};
    limits.max_acceleration_m_s2 = {3.0, 2.0, 0.2};
    limits.speed_step_m_s = {0.01, 0.008, 0.0004};
    return limits;
}

/// Plans straight moves between the given tool positions.
inline std::vector<planner::MotorMove> plan(const std::vector<planner::AxisArray>& points_m,
                                            double feed_m_s,
                                            const planner::PlanLimits& limits = example_limits()) {
    std::vector<planner::Move> moves;
    for (std::size_t i = 1; i < points_m.size(); ++i) {
        planner::Move move;
        move.line = i;
        move.start_m = points_m[i - 1];
        move.end_m = points_m[i];
        move.length_m = std::hypot(move.end_m[0] - move.start_m[0], move.end_m[1] - move.start_m[1],
                                   move.end_m[2] - move.start_m[2]);
        move.feed_m_s = feed_m_s;
        if (move.length_m > 0.0) moves.push_back(move);
    }
    std::vector<planner::PlannedMove> planned;
    planner::LookAhead look_ahead(limits);
    look_ahead.push(moves, planned);
    look_ahead.finish(planned);
    std::vector<planner::MotorMove> motor_moves;
    planner::MotorMover mover(planner::Kinematics::cartesian, planner::AxisSet("XYZE"));
    mover.push(planned, motor_moves);
    return motor_moves;
}

/// A wandering path: tiny and long moves, reversals, single axes.
inline std::vector<planner::MotorMove> random_program(std::uint32_t seed, int moves,
                                                      double feed_m_s = 0.1) {
    std::mt19937 engine(seed);
    std::uniform_real_distribution<double> unit(-1.0, 1.0);
    std::vector<planner::AxisArray> points_m{{}};
    points_m.back()[0] = unit(engine) * 1e-3;
    for (int i = 0; i < moves; ++i) {
        planner::AxisArray point = points_m.back();
        const double size_m = std::pow(10.0, -4.0 + 1.2 * unit(engine));
        if (unit(engine) < 0.7) point[0] += size_m * unit(engine);
        if (unit(engine) < 0.7) point[1] += size_m * unit(engine);
        if (unit(engine) < -0.5) point[2] += 0.2 * size_m * unit(engine);
        points_m.push_back(point);
    }
    return plan(points_m, feed_m_s);
}

/// One straight move of the first motor at constant speed, without acceleration: `steps` steps at
/// exactly `rate_hz`.
inline planner::MotorMove steady_move(const machine::Machine& machine,
                                      const std::vector<double>& steps, double rate_hz) {
    planner::MotorMove move;
    move.line = 7;
    double most = 0.0;
    for (std::size_t m = 0; m < steps.size(); ++m) {
        move.motor_end_m[m] = steps[m] / machine.axes[m].steps_per_m();
        most = std::fmax(most, std::fabs(steps[m]));
    }
    move.tool_end_m = move.motor_end_m;
    move.length_m = most;  // one metre of path for each step of the busiest motor
    move.profile.count = 1;
    move.profile.phases[0] = {most / rate_hz, 0.0, rate_hz, 0.0};
    move.profile.duration_s = most / rate_hz;
    return move;
}

}  // namespace stepper_sim::testing
