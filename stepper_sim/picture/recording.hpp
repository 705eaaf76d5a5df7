/// What pictures of one program need, in a size that does not depend on the program's: gathered by recorder.hpp while the program
/// streams, and by moments.hpp in a second look at a few moments. Plain SI numbers for views; nothing here judges.
/// Whatever is thinned keeps its worst, never a mean.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "stepper_sim/run/slip_result.hpp"

namespace stepper_sim::picture {

/// A straight piece of tool path seen from above, with the worst of the moves merged into it.
struct MapPiece {
    float x0_m = 0, y0_m = 0, x1_m = 0, y1_m = 0;
    float torque_use = 0;   // against the low curve, worst motor
    float modal_ratio = 0;  // of the resonance screen, worst motor
    float speed_m_s = 0;    // highest along the path
    float time_s = 0;       // of the worst of the merged moves, as is the line
    std::uint32_t line = 0;
    std::uint16_t level = 0;  // index into PathMap::levels_m
    float shifted_m = 0;      // how far at most the path it stands for lies from it
    std::uint8_t torque_motor = 0, ratio_motor = 0;
    bool work =
        false;  // leaves something on the part: feeds, with filament where there is an E axis
};

struct PathMap {
    bool has_x = false, has_y = false;
    std::vector<double> levels_m;  // heights at which work is done
    std::vector<MapPiece> pieces;  // in program order
    std::uint64_t moves = 0;       // all moves that went into it
    double merged_within_m =
        0.0;  // moves were merged where that shifts the path by no more; 0: none
    std::uint32_t levels_per_group =
        1;  // of so many neighbouring heights only the worst is kept whole
};

/// Seconds spent at each speed and torque, on an even grid.
struct AskedDensity {
    int speeds = 0, torques = 0;  // cells along each side
    double top_speed_m_s = 0.0, top_torque_Nm = 0.0;
    std::vector<double> seconds;  // speed by speed: [speed * torques + torque]
};

/// Torque available at one speed.
struct BandPoint {
    double speed_m_s = 0.0, low_Nm = 0.0, nominal_Nm = 0.0, high_Nm = 0.0;
};

/// Least and greatest in even stretches of time that together cover the program.
struct Envelope {
    double stretch_s = 0.0;
    std::vector<double> least, greatest;
};

/// How many times the swing of the rotor exceeds the quasi-static one when shaken at a frequency.
struct ResponsePoint {
    double frequency_hz = 0.0, low = 0.0, nominal = 0.0, high = 0.0;
};

struct ReversalBin {
    double from_hz = 0.0, to_hz = 0.0;
    std::uint64_t count = 0;
};

struct MotorRecord {
    char letter = 'X';
    std::vector<BandPoint> band;
    AskedDensity asked;
    double worst_speed_m_s = 0.0, worst_asked_Nm = 0.0;  // where most of the low curve is used
    double base_speed_m_s = 0.0;
    Envelope step_rate_hz;
    double driver_ceiling_hz = 0.0, controller_ceiling_hz = 0.0;
    std::vector<ResponsePoint> response;
    std::vector<ReversalBin> reversals;
    double natural_low_hz = 0.0, natural_hz = 0.0, natural_high_hz = 0.0;
    /// Reversals between these feed the swing.
    double near_from_hz() const { return run::kNearBelow * natural_low_hz; }
    double near_to_hz() const { return run::kNearAbove * natural_high_hz; }
};

struct CommandPoint {
    double time_s = 0.0, speed_m_s = 0.0, acceleration_m_s2 = 0.0;
};

/// One motor around one moment: times count from `start_s` of the program.
struct MomentRecord {
    char letter = 'X';
    double start_s = 0.0, end_s = 0.0, at_s = 0.0;
    std::uint64_t line = 0;
    std::vector<CommandPoint> command;  // at both ends of every phase
    /// Electrical load angle with the low and the high torque, evenly spread from start to end: two values a stretch, its least and
    /// its greatest.
    std::vector<float> angle_low_rad, angle_high_rad;
    std::int64_t tick_hz = 1;
    std::vector<std::uint32_t> rises;  // ticks since start_s
    std::vector<std::uint32_t> turns;  // ticks of direction changes
    std::vector<std::int8_t> turn_to;  // the direction from there on
    std::int8_t first_direction = 1;
    std::uint32_t pulse_ticks = 1;  // width of every pulse
    bool cut = false;               // more pulses than are kept
};

/// Where the tool was when a finding's moment came.
struct FoundPlace {
    bool known = false;
    double x_m = 0.0, y_m = 0.0, z_m = 0.0;
};

struct Recording {
    std::string file;
    double duration_s = 0.0;
    PathMap map;
    std::vector<MotorRecord> motors;
    Envelope processor_load;
    double processor_share = 1.0;
    std::vector<MomentRecord> moments;
    std::vector<FoundPlace> places;              // by finding
    std::map<std::uint64_t, std::string> lines;  // text of the program's lines near findings
};

}  // namespace stepper_sim::picture
