/// What keeps a setting or a speed from being higher: one vocabulary for rates, torque, limits and every view of them.
#pragma once

#include <cstdint>
#include <string_view>

namespace stepper_sim::run {

/// What keeps a setting from being higher.
enum class Binding : std::uint8_t {
    none,
    driver,       // its step rate or pulse times
    controller,   // its processor time
    tick,         // its clock
    torque,       // the low curve
    curve_end,    // the published curve says nothing of faster
    start_step,   // a jump of speed the rotor does not follow
    resonance,    // reversals near a natural frequency, or swings of single accelerations
    instability,  // a long cruise above the base speed
    screw_whip,   // the critical speed of its screw
    travel,       // the axis is too short to reach more
    path_cap,     // the cap on acceleration along the path
    top_speed,    // a speed step above it has no meaning
};

std::string_view to_word(Binding binding);

}  // namespace stepper_sim::run
