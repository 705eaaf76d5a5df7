#include "stepper_sim/check/check.hpp"

#include <algorithm>
#include <array>

#include "stepper_sim/check/use.hpp"

namespace stepper_sim {

namespace {

constexpr std::array kTable{
    CheckRow{"steps-per-mm", "steps per mm against mechanics and microsteps", check_steps_per_mm},
    CheckRow{"motor-current",
             "driver current against motor and driver ratings, RMS or peak honoured",
             check_motor_current},
    CheckRow{"supply-voltage", "supply against driver, motor and the coil-voltage rule",
             check_supply_voltage},
    CheckRow{"inertia-ratio", "load inertia against the rotor's", check_inertia_ratio},
    CheckRow{"falling-load", "vertical axes that may come down without their motor",
             check_falling_load},
    CheckRow{"step-rate", "top speed and program against driver, controller and tick ceilings",
             check_step_rate},
    CheckRow{"pulse-timing",
             "pulse high and low time, direction set-up and hold against the driver",
             check_pulse_timing},
    CheckRow{"processor-load", "late pulses and the processor share that stepping takes",
             check_processor_load},
    CheckRow{"travel", "program inside the travel of every axis", check_travel},
    CheckRow{"torque", "torque asked against torque available, low, nominal and high",
             check_torque},
    CheckRow{"speed-step", "start and corner speed steps against what the motor can follow",
             check_speed_step},
    CheckRow{"lost-steps",
             "resonance and slips: modal screen, then the full model of suspicious windows",
             check_lost_steps},
    CheckRow{"ringing", "where the tool swings most, and which speed to avoid there",
             check_ringing},
    CheckRow{"program-words", "words outside the standard, careless spots, feeds out of reach",
             check_program_words},
};

double severity(const Finding& finding) {
    return use_of(finding.value, finding.limit);
}

}  // namespace

std::span<const CheckRow> check_table() {
    return kTable;
}

Findings run_checks(const CheckInput& input) {
    Findings findings;
    for (const CheckRow& row : kTable)
        row.run(input, findings);
    std::stable_sort(findings.begin(), findings.end(), [](const Finding& a, const Finding& b) {
        if (a.grade != b.grade) return a.grade > b.grade;
        return severity(a) > severity(b);
    });
    return findings;
}

Verdict verdict_of(std::span<const Finding> findings) {
    Verdict verdict = Verdict::clear;
    for (const Finding& finding : findings) {
        if (finding.grade == Grade::fault) return Verdict::fault;
        if (finding.grade == Grade::risk) verdict = Verdict::thin;
    }
    return verdict;
}

}  // namespace stepper_sim
