/// One question to the checks: does the machine hold with these settings, and if not, what gives way? The same checks as `check`, asked of
/// some motors only and ending at the first that says no, because searches (limits.hpp) ask it hundreds of times.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/run/program_source.hpp"

namespace stepper_sim {

/// What keeps a setting from being higher.
enum class Binding : std::uint8_t {
    none,
    driver,       // its step rate or pulse times
    controller,   // its processor time
    tick,         // its clock
    torque,       // the low curve
    start_step,   // a jump of speed the rotor does not follow
    resonance,    // reversals near a natural frequency, or swings of single accelerations
    instability,  // a long cruise above the base speed
    screw_whip,   // the critical speed of its screw
    travel,       // the axis is too short to reach more
    path_cap,     // the cap on acceleration along the path
    top_speed,    // a speed step above it has no meaning
};

std::string_view to_word(Binding binding);

struct ProbeAnswer {
    bool clear = true;
    Binding binds = Binding::none;
    std::string why;     // one sentence
    int motor = -1;      // slot of the motor that gives way
    std::string source;  // name of the moves; empty: the settings alone say so
};

struct ProbeQuestion {
    const Machine& machine;  // with the settings on trial
    const MotorModels& models;
    std::span<const ProgramSource> sources;
    double margin = kDefaultMargin;
    std::uint32_t motors = ~std::uint32_t{0};  // bit m: what motor m does counts
};

/// Errors: those of run_program.hpp.
planner::Result<ProbeAnswer> probe(const ProbeQuestion& question);

}  // namespace stepper_sim
