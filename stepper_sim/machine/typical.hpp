/// What machines usually have where nobody measured: bands for stiffness and friction, from the kind of belt, screw and rail. The
/// motor's are in motor/voltage_limit.hpp; check/guesses.hpp lists what one machine takes from here.
/// Model:   a belt is two springs side by side, one on each side of its carriage; a screw is a rod that is pulled; a rail drags
///          with its load and with its seals
/// Formula: belt k = c w (1/x + 1/(2 S - x)); screw k = A E/L, 4 A E/L held at both ends; friction F = mu P + f
/// Symbols: c = spring rate of a belt per width [N/mm of width], w = width, S = span between the pulleys, x = free length to the motor
///          [m]; A = area at the root [m2], E = 206 GPa, L = length under load [m]; mu = 0.002 to 0.003, P = weight [N], f = drag of the
///          seals [N]
/// Valid:   the carriage between S/4 and S from the motor. Guess: brackets, clamps and pulley shafts in series leave 0.4 of a belt
///          at the low end, nuts and end bearings 0.15 of a screw
/// Source:  spring rates, linear guide friction: makers' catalogues (from memory); 2 mm pitch: assumed, 15 to 45 kN at 6 mm width
/// Checked by: Typical.*
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "stepper_sim/machine/machine.hpp"

namespace stepper_sim::machine {

/// What a value may be, in SI. Nominal is the middle in the logarithm.
struct ClassBand {
    double low = 0.0, nominal = 0.0, high = 0.0;
};

ClassBand class_band(double low, double high);

struct BeltType {
    std::string_view name;
    double pitch_mm;
    double rate_low_N_mm,
        rate_high_N_mm;  // pull that would double its length, per millimetre of width
};
std::span<const BeltType> belt_types();
/// Null where there is no such type.
const BeltType* belt_type(std::string_view name);

/// Of the spring between motor and load [N/m]: by belt or screw where their sizes are known, else of any of the kind.
ClassBand typical_stiffness(const Drive& drive);
/// What `typical_stiffness` rests on, in a few words.
std::string stiffness_source(const Drive& drive);

/// Of what an axis carries on its rails [N]; of an endless one, the force that pushes filament.
ClassBand typical_friction(planner::Mass mass, bool endless);
std::string friction_source(bool endless);

}  // namespace stepper_sim::machine
