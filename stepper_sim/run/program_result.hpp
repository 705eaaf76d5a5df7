/// What one run of a program through the pipeline leaves behind: peaks and worst moments, never the moves themselves, so that its
/// size does not depend on the program's. Filled by run_program.hpp, read by the checks.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "planner/program/axis_set.hpp"
#include "planner/program/program_notes.hpp"
#include "stepper_sim/controller/pulse_run.hpp"
#include "stepper_sim/run/moment.hpp"
#include "stepper_sim/run/slip_result.hpp"
#include "stepper_sim/run/use.hpp"

namespace stepper_sim::run {

struct AxisRange {
    double peak_speed_m_s = 0.0;
    double peak_acceleration_m_s2 = 0.0;
    double end_m = 0.0;
    double min_m = 0.0, max_m = 0.0;
    Moment at_min, at_max;
};

/// What the motor is doing when torque is short: the reason in words.
enum class Motion : std::uint8_t { speeding_up, cruising, slowing_down };

/// The moment a motor's torque is used most, measured against the low curve.
struct TorqueMoment {
    double use_low = 0.0;      // asked / low available; the figure of the verdict "clear"
    double use_nominal = 0.0;  // at the same moment
    double use_high =
        0.0;  // asked / high available: above 1 even the optimistic edge is not enough
    double asked_Nm = 0.0;
    double low_Nm = 0.0, high_Nm = 0.0;
    double rate_rad_s = 0.0;
    Motion motion = Motion::cruising;
    bool beyond_curve = false;  // judged past the last point of a published curve
    Moment at;

    BandUse use() const { return {use_low, use_high}; }
};

/// The corner or start at which a motor's speed jumps most, against what it can follow (physics of the jump: motor/speed_step.hpp).
struct StepMoment {
    double use_low = 0.0;  // jump / what the low torque follows
    double use_high = 0.0;
    double jump_rad_s = 0.0;
    double limit_low_rad_s = 0.0;
    Moment at;

    BandUse use() const { return {use_low, use_high}; }
};

struct MotorResult {
    controller::MotorTiming timing;
    TorqueMoment torque;
    StepMoment speed_step;
    double peak_rate_rad_s = 0.0;
};

struct ProgramResult {
    std::string file;
    bool made_up = false;  // moves that no program file holds: worst_moves.hpp
    std::uint64_t lines = 0;
    std::uint64_t moves = 0;          // of the program: an arc is one
    std::uint64_t planned_moves = 0;  // its chords are many
    double duration_s = 0.0;
    double path_m = 0.0;      // of the tool, along X Y Z
    double filament_m = 0.0;  // of E, less what is drawn back
    planner::ProgramNotes notes;
    std::array<AxisRange, planner::kMaxAxes> axes{};
    std::array<MotorResult, planner::kMaxAxes> motors{};
    controller::ControllerTiming controller;
    SlipResult slips;
};

}  // namespace stepper_sim::run
