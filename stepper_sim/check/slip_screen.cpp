#include "stepper_sim/check/slip_screen.hpp"

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "planner/kinematics/kinematics.hpp"
#include "stepper_sim/dynamics/screen_move.hpp"

namespace stepper_sim {

namespace {

// Speeds past the top speed are rounding.
constexpr double kTableReach = 1.01;

}  // namespace

ModalScreen motor_screen(const Machine& machine, const MotorModels& models, int slot, BandEdge edge,
                         Ringing ringing) {
    const auto s = static_cast<std::size_t>(slot);
    const AvailableTorque& available = models.available[s];
    return {
        axis_dynamics(machine, models.loads, available, slot, edge),
        TorqueTable([&](double rate_rad_s) { return edge_torque_Nm(available, edge, rate_rad_s); },
                    kTableReach * top_travel_m_s(machine, models.loads, s) /
                        models.loads.motors[s].radius_m),
        ringing};
}

double pass_ratio(const Axis& axis) {
    return axis.driver.regulator == Regulator::sine ? kSineRegulatorPass : kAnyRegulatorPass;
}

SlipScreen::SlipScreen(const Machine& machine, const MotorModels& models) {
    for (int m = 0; m < static_cast<int>(machine.axes.size()); ++m) {
        const auto s = static_cast<std::size_t>(m);
        const AxisDynamics low =
            axis_dynamics(machine, models.loads, models.available[s], m, BandEdge::low);
        motors_.push_back({motor_screen(machine, models, m, BandEdge::low, Ringing::measured),
                           motor_screen(machine, models, m, BandEdge::high, Ringing::left_out),
                           WindowBuilder(window_rule(low, pass_ratio(machine.axes[s]))),
                           1.0 / models.loads.motors[s].radius_m,
                           pass_ratio(machine.axes[s]),
                           {}});
    }
}

void SlipScreen::push(std::span<const planner::MotorMove> moves, std::span<MoveRatio> ratios) {
    if (ratios.empty()) {
        // The motors know nothing of each other: the same on any number of threads.
        tbb::parallel_for(std::size_t{0}, motors_.size(),
                          [&](std::size_t m) { push(m, moves, ratios); });
    } else {
        for (std::size_t m = 0; m < motors_.size(); ++m)
            push(m, moves, ratios);
    }
}

// Motor by motor: each one's oscillators stay in registers and cache.
void SlipScreen::push(std::size_t m, std::span<const planner::MotorMove> moves,
                      std::span<MoveRatio> ratios) {
    Motor& motor = motors_[m];
    const int slot = static_cast<int>(m);
    for (std::size_t i = 0; i < moves.size(); ++i) {
        const planner::MotorMove& move = moves[i];
        // Neither a window nor the worst ratio can come from less.
        const double floor =
            ratios.empty() ? std::min(motor.pass_ratio, motor.result.worst.ratio_peak) : 0.0;
        motor.low.ratio_floor(floor);
        motor.high.ratio_floor(floor);
        MoveScreen screen = screen_move(motor.low, move, slot, motor.rad_per_m);
        const MoveScreen high = screen_move(motor.high, move, slot, motor.rad_per_m);
        if (high.ratio > screen.ratio) {
            screen.ratio = high.ratio;
            screen.load_angle_rad = high.load_angle_rad;
            screen.peak_time_s = high.peak_time_s;
            screen.peak_rate_rad_s = high.peak_rate_rad_s;
        }
        motor.windows.add(screen, move.start.seconds());
        if (i < ratios.size() && screen.ratio > ratios[i].ratio) ratios[i] = {screen.ratio, m};
        if (screen.ratio > motor.result.worst.ratio_peak) {
            motor.result.worst.ratio_peak = screen.ratio;
            motor.result.worst.load_angle_rad = screen.load_angle_rad;
            motor.result.worst.ratio_at = moment_in(move, m, screen.peak_time_s);
        }
        const double ringing_m = std::max(screen.corner_ringing_m, screen.ringing_m);
        if (ringing_m > motor.result.worst.ringing_m) {
            motor.result.worst.ringing_m = ringing_m;
            motor.result.worst.ringing_at = {move.line, move.start.seconds(), move.tool_start_m[m]};
        }
    }
}

std::vector<MotorScreen> SlipScreen::finish() {
    std::vector<MotorScreen> results;
    for (Motor& motor : motors_) {
        motor.result.windows = motor.windows.finish();
        motor.result.worst.suspicious = motor.windows.found();
        results.push_back(std::move(motor.result));
    }
    motors_.clear();
    return results;
}

}  // namespace stepper_sim
