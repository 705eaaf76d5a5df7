#include "stepper_sim/check/check.hpp"

#include <algorithm>
#include <array>

#include "stepper_sim/run/use.hpp"

namespace stepper_sim::check {

namespace {

constexpr std::array kTable{
    CheckRow{"steps-per-mm", check_steps_per_mm},
    CheckRow{"motor-current", check_motor_current},
    CheckRow{"supply-voltage", check_supply_voltage},
    CheckRow{"inertia-ratio", check_inertia_ratio},
    CheckRow{"falling-load", check_falling_load},
    CheckRow{"screw-whip", check_screw_whip},
    CheckRow{"step-rate", check_step_rate},
    CheckRow{"pulse-timing", check_pulse_timing},
    CheckRow{"processor-load", check_processor_load},
    CheckRow{"travel", check_travel},
    CheckRow{"torque", check_torque},
    CheckRow{"speed-step", check_speed_step},
    CheckRow{"lost-steps", check_lost_steps},
    CheckRow{"ringing", check_ringing},
    CheckRow{"program-words", check_program_words},
};

double severity(const Finding& finding) {
    return run::use_of(finding.value, finding.limit);
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

}  // namespace stepper_sim::check
