#include "stepper_sim/check/consequence.hpp"

#include <algorithm>
#include <array>

namespace stepper_sim::check {

namespace {

constexpr std::array kTable{
    // What breaks the machine.
    ConsequenceRow{"supply-voltage", "the driver or the motor is destroyed"},
    ConsequenceRow{"motor-current", "the driver or the motor overheats"},
    ConsequenceRow{"travel", "the axis runs into its end"},
    ConsequenceRow{"screw-whip", "the screw bends out, shakes and may hit its frame"},
    // What loses steps: all that follows on the part is in the wrong place.
    ConsequenceRow{"lost-steps", "steps are lost in moves that were simulated"},
    ConsequenceRow{"torque", "the motor stalls where it asks for more than there is"},
    ConsequenceRow{"speed-step", "the rotor falls behind at a start or a corner"},
    // What disturbs the signals: steps may be lost or come late.
    ConsequenceRow{"pulse-timing", "the driver may miss a step or its direction"},
    ConsequenceRow{"step-rate", "the steps cannot be made or read as fast as they are due"},
    ConsequenceRow{"processor-load", "steps leave late and motion is uneven"},
    // What may not be what was meant.
    ConsequenceRow{"program-words", "the machine may do something else than was planned"},
    ConsequenceRow{"steps-per-mm", "parts get another size; no step is lost"},
    // What is only worth knowing.
    ConsequenceRow{"falling-load", "an axis may come down when its motor is off"},
    ConsequenceRow{"ringing", "lines beside corners show on the part"},
    ConsequenceRow{"inertia-ratio", "it overshoots and settles slowly"},
};

std::size_t rank_of(std::string_view check) {
    return static_cast<std::size_t>(
        std::find_if(kTable.begin(), kTable.end(),
                     [&](const ConsequenceRow& row) { return row.check == check; }) -
        kTable.begin());
}

}  // namespace

std::span<const ConsequenceRow> consequence_table() {
    return kTable;
}

void sort_by_consequence(Findings& findings) {
    std::stable_sort(findings.begin(), findings.end(), [](const Finding& a, const Finding& b) {
        if (a.grade != b.grade) return a.grade > b.grade;
        return rank_of(a.check) < rank_of(b.check);
    });
}

}  // namespace stepper_sim::check
