/// Parts of the catalogue as validated structs: motors, drivers, controllers. Files:
/// configs/motors, drivers, controllers. A value that no source gives is an empty optional, never a
/// guess.
/// Model:   a drive makes sine currents in two phases; a tooth of the rotor is four full steps
/// Formula: peak = sqrt(2) RMS; rotor teeth = steps per turn / 4; step rate max = 1/(high + low) where no rate is stated
/// Symbols: high, low = shortest times of the step line [s]
/// Valid:   two-phase hybrid motors; a current of unknown basis counts as RMS, as motors' plates mean it
/// Source:  RMS of a sine: textbook; P. Acarnley, Stepping Motors (from memory) for the teeth
/// Checked by: PullOutExample.RootOfTwoBetweenRmsAndPeak, DriverCeilings.AreDerivedFromThePulseTimesWhereNoFrequencyIsStated
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "planner/units/units.hpp"

namespace stepper_sim::machine {

/// Whether a current is the RMS or the peak of the sine a microstepping drive makes (peak = sqrt2
/// RMS). Confusing the two is a 41 % error, so every current carries its basis.
enum class CurrentBasis : std::uint8_t { rms, peak, not_stated };

struct RatedCurrent {
    planner::Current value;
    CurrentBasis basis = CurrentBasis::not_stated;

    /// Peak of the sine; a current whose basis is not stated counts as RMS, the usual meaning of a
    /// motor's plate (both phases on).
    planner::Current peak() const {
        return basis == CurrentBasis::peak ? value : value * 1.4142135623730951;
    }
    planner::Current rms() const { return peak() / 1.4142135623730951; }
};

/// How a value came out of its source.
enum class Known : std::uint8_t {
    read,         // in the document itself
    second_hand,  // in what others copied from it
    recalled,     // from memory
};

/// As written in part files, and as shown.
constexpr std::string_view to_word(Known known) {
    return known == Known::read ? "read" : known == Known::second_hand ? "second-hand" : "recalled";
}

/// Where a value comes from.
struct Source {
    std::string document;
    Known known = Known::read;
    std::string note;
};

/// A published pull-out curve: torque against speed at one supply and current.
struct PullOutCurve {
    planner::Voltage supply;
    RatedCurrent current;
    std::string drive;                          // drive and step mode as published
    std::vector<planner::AngularSpeed> speeds;  // increasing, at least two
    std::vector<planner::Torque> torques;       // same length
    Source source;
};

struct MotorPart {
    std::string name, maker, file;
    int frame = 0;             // flange size in tenths of an inch
    int steps_per_turn = 200;  // full steps; rotor teeth = steps_per_turn / 4
    RatedCurrent rated_current;
    planner::Torque holding_torque;
    std::optional<planner::Resistance> resistance;
    std::optional<planner::Inductance> inductance;
    std::optional<planner::Inertia> rotor_inertia;
    std::optional<planner::Torque> detent_torque;
    std::optional<planner::Voltage> max_supply;
    std::vector<PullOutCurve> curves;
    Source source;

    int rotor_teeth() const { return steps_per_turn / 4; }
};

enum class Regulator : std::uint8_t {
    sine,
    chopper
};  // sine: good current sine (dead-beat model); chopper: fixed off-time, mixed decay

struct DriverPart {
    std::string name, maker, file;
    planner::Time step_high_min, step_low_min;  // shortest high and low of the step line
    std::optional<planner::Time> setup_min,
        hold_min;                      // direction steady before and after the active edge
    planner::Frequency step_rate_max;  // stated, or 1/(high + low)
    bool step_rate_stated = false;
    bool both_edges = false;  // every edge of the step line is a step
    planner::Voltage supply_min, supply_max;
    std::optional<RatedCurrent> current_max;  // continuous
    std::vector<int> microsteps;              // selectable, per full step
    Regulator regulator = Regulator::chopper;
    Source source;
};

enum class ControllerStyle : std::uint8_t { ideal, line, fixed_rate, scheduled };

struct ControllerPart {
    std::string name, file;
    ControllerStyle style = ControllerStyle::line;
    std::int64_t clock_hz = 0;     // processor clock
    std::int64_t tick_hz = 0;      // step timer: pulses start on its ticks
    int interrupt_cycles = 0;      // entry, saving, restoring and exit of one step interrupt
    int event_cycles = 0;          // work of one interrupt whatever the motors
    int motor_cycles = 0;          // further work for each motor served
    double processor_share = 1.0;  // the part of the processor that stepping may take, in (0, 1]
    planner::Time pulse_high;      // how long the step line stays active
    planner::Time direction_setup, direction_hold;
    int max_steps_per_interrupt = 1;  // line: above the single-step ceiling this many steps share
                                      // one interrupt (1, 2, 4, ...)
    std::int64_t base_rate_hz = 0;    // fixed-rate: the periodic interrupt
    int accumulator_bits = 32;        // fixed-rate
    // What the maker promises, where the file says: steps of one motor, and of all motors together.
    std::optional<planner::Frequency> step_rate_max, step_rate_total;
    Source source;
};

}  // namespace stepper_sim::machine
