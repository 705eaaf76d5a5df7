/// One machine: what is bolted together and the settings to be flashed. Read from TOML by
/// read_machine.hpp; every value range-checked there.
/// Model:   a rigid drive: belt over pulley, or screw, behind a gear
/// Formula: travel per motor turn = pitch teeth / gear, or lead / gear; steps per metre = steps per turn * microsteps / travel per turn
/// Symbols: gear = motor turns per turn of pulley or screw [-], pitch, lead [m]
/// Valid:   no slack and no stretch; what is calibrated against a gauge differs by up to 2 %
/// Source:  pitch diameter is pitch times teeth over pi: plane geometry
/// Checked by: CommonPractice.TwoMillimetreBeltOnTwentyTeethNeedsEightyStepsPerMillimetre,
///             CommonPractice.ScrewAxesGiveTheStepsPerMillimetreOfTheirLead, SizingExamples.PitchDiameterIsPitchTimesTeethOverPi
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "planner/kinematics/kinematics.hpp"
#include "planner/lookahead/planned_move.hpp"
#include "planner/program/program_settings.hpp"
#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::machine {

/// How the ends of a screw are held: what its critical speed and its stiffness depend on.
enum class ScrewEnds : std::uint8_t { fixed_free, supported, fixed_supported, fixed_fixed };

/// How a motor moves its axis. Exactly one of belt (pitch and teeth) or screw (lead) is set.
struct Drive {
    std::optional<planner::Length> belt_pitch;
    int pulley_teeth = 0;
    std::optional<planner::Length> screw_lead;
    double screw_efficiency = 1.0;   // raising, in (0, 1]
    planner::Inertia screw_inertia;  // of the screw and anything that turns at its speed
    double gear_ratio = 1.0;         // motor turns per pulley or screw turn
    // What the stiffness and a screw's critical speed follow from; absent: not known.
    std::string belt_type;  // a name of typical.hpp
    std::optional<planner::Length> belt_width;
    std::optional<planner::Length> belt_span;     // between the pulleys' centres
    std::optional<planner::Length> screw_root;    // diameter at the bottom of the thread
    std::optional<planner::Length> screw_length;  // between its bearings
    ScrewEnds screw_ends = ScrewEnds::fixed_free;

    /// Axis travel per motor turn.
    planner::Length travel_per_turn() const {
        const planner::Length per_output_turn =
            belt_pitch ? *belt_pitch * static_cast<double>(pulley_teeth)
                       : screw_lead.value_or(planner::Length());
        return per_output_turn / gear_ratio;
    }
};

struct Load {
    planner::Mass mass;
    planner::Force friction;
    bool friction_guessed = false;  // nobody knows it: the middle of its class, guesses.hpp
    bool vertical = false;          // gravity acts against positive travel
};

/// A vibration mode of frame, head or bed, measured by the user.
struct MeasuredMode {
    planner::Frequency frequency;
    double damping = 0.02;
};

/// The most that a machine file, a trial sheet or an option may say. Guess: ten times the fastest stepper machines.
inline constexpr double kMaxSpeed_m_s = 100.0;
inline constexpr double kMaxAcceleration_m_s2 = 1e4;

struct AxisSettings {
    double steps_per_mm = 0.0;
    planner::Speed max_speed;
    planner::Acceleration max_acceleration;
    planner::Speed speed_step;
};

/// Where a line of the motor is found in a recorded trace.
struct CaptureLine {
    std::string channel;    // empty: not stated
    bool inverted = false;  // a low level is the active one, or counting up
};

struct Axis {
    char letter = 'X';
    std::optional<planner::Length> travel_min, travel_max;  // absent: endless (filament)
    Drive drive;
    int motor_count = 1;  // equal motors sharing the axis
    MotorPart motor;
    DriverPart driver;
    RatedCurrent current;  // what the driver is set to
    planner::Voltage supply;
    int microsteps = 16;
    Load load;
    std::optional<planner::Stiffness>
        stiffness;                  // of belt or screw, motor to load; absent: its class
    std::optional<double> damping;  // ratio, of the load on that stiffness; absent: a default
    std::vector<MeasuredMode> modes;
    std::optional<double> running_factor;  // fitted or measured: replaces the default band
    std::optional<planner::Speed> running_factor_at;  // axis speed it was measured at
    AxisSettings settings;
    CaptureLine step_line, direction_line;

    double microsteps_per_turn() const {
        return static_cast<double>(motor.steps_per_turn) * microsteps;
    }
    /// Steps per metre that the mechanics and the microstepping give.
    double mechanical_steps_per_m() const {
        return microsteps_per_turn() / drive.travel_per_turn().value();
    }
    double steps_per_m() const { return settings.steps_per_mm * 1000.0; }
};

struct Planning {
    planner::CornerRule corner = planner::CornerRule::speed_step;
    planner::Length deviation;
    int window_moves = 16;          // 0: unlimited
    planner::Length arc_tolerance;  // chord error of arcs
    std::optional<planner::Acceleration> path_acceleration;
};

struct Machine {
    std::string name, file;
    planner::Kinematics kinematics = planner::Kinematics::cartesian;
    ControllerPart controller;
    Planning planning;
    std::vector<Axis> axes;            // in AxisSet order: slot = index
    planner::ProgramSettings program;  // program.axes is the AxisSet of `axes`
    bool work_offset_known =
        true;  // false: program zero is set at the machine, only spans can be compared with travel
};

/// The limits the planner obeys, from the settings.
planner::PlanLimits plan_limits(const Machine& machine);

}  // namespace stepper_sim::machine
