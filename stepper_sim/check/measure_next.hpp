/// The one measurement that would move the answer most: each value that is guessed, and each torque that nobody measured, is put to both
/// ends of its band, the moves are looked at again, and what a motor uses of its torque is compared. Slips are not simulated for it: the
/// screen's swing, the torque and the speed step tell which way it goes, in a bounded time.
#pragma once

#include <optional>
#include <string>

#include "stepper_sim/check/guesses.hpp"
#include "stepper_sim/check/verified_change.hpp"

namespace stepper_sim::check {

struct Measurement {
    std::string path;       // "axes.y.stiffness"
    std::string band;       // "10 N/mm to 100 N/mm", as it is open now
    std::string how;        // at the bench, one sentence
    char motor = 'X';       // whose use moves
    std::string_view of;    // "torque", "speed step" or "swing"
    double use_low = 0.0;   // at the better end, share of what the low torque figure gives
    double use_high = 0.0;  // at the worse end
    bool needed = false;    // no verdict is clear without it
};

/// None where nothing is open, or nothing that is would change what any motor uses by a twentieth. Programs too long to be run again
/// are not, then the settings alone tell.
std::optional<Measurement> measure_next(const CheckInput& input, const Recheck& recheck);

/// "measure axes.y.stiffness ...: motor Y uses 40 to 130 % of ..."
std::string sentence_of(const Measurement& measurement);

}  // namespace stepper_sim::check
