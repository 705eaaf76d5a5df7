/// What a machine file leaves open, each with the band of its class, and the machines at the ends of all bands together. Nothing here
/// judges: guessed_checks.hpp does, and measure_next.hpp asks which guess matters most.
/// Nobody may be surer than a guess allows: "clear" must hold at both ends of it, and so must "fault".
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/machine/machine.hpp"
#include "stepper_sim/machine/typical.hpp"
#include "stepper_sim/run/demand.hpp"

namespace stepper_sim::check {

enum class GuessKey : std::uint8_t {
    stiffness,      // N/m, its band is searched by the screen and the full model themselves
    damping,        // ratio, likewise
    friction,       // N
    rotor_inertia,  // kg m^2
    resistance,     // ohm
    inductance,     // H
    current,        // A peak: the number read as a peak, and as RMS
};

struct Guess {
    std::size_t slot = 0;  // of its axis
    char axis = 'X';
    GuessKey key = GuessKey::friction;
    machine::ClassBand band;
    std::string source;
};

/// All that is open, axis by axis.
std::vector<Guess> guesses_of(const machine::Machine& machine, const run::MotorModels& models);

/// "axes.x.load.friction"
std::string path_of(const Guess& guess);
/// "0.2 N to 5.1 N"
std::string band_text(const Guess& guess);
/// The quantity at one value, with its unit.
std::string guess_text(GuessKey key, double value);
/// "friction"
std::string_view name_of(GuessKey key);

/// Sets the value as if it had been measured.
void set_guess(const Guess& guess, double value, machine::Machine& machine);

/// A machine at one end of everything that is open and not searched anyway.
struct GuessEnd {
    machine::Machine machine;
    std::string said;  // "with the most friction, ... that axes.x and axes.y may have"
};
/// None where nothing is open, else two: the most asked of the weakest motor, and the least damped.
std::vector<GuessEnd> guess_ends(const machine::Machine& machine,
                                 const std::vector<Guess>& guesses);

/// One sentence for each kind of guess, over all axes.
std::vector<std::string> guess_sentences(const std::vector<Guess>& guesses);

}  // namespace stepper_sim::check
