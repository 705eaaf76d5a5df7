#include <fmt/core.h>

#include <cmath>
#include <numbers>

#include "planner/units/units_text.hpp"
#include "stepper_sim/check/check.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/dynamics/machine_axis.hpp"

namespace stepper_sim::check {

namespace {

// Guess: less does not show on a part.
constexpr double kSeen_m = 0.1e-3;

double natural_hz(const CheckInput& input, std::size_t slot) {
    const dynamics::AxisDynamics axis =
        dynamics::axis_dynamics(input.machine, input.models.loads, input.models.available[slot],
                                static_cast<int>(slot), dynamics::BandEdge::nominal);
    return dynamics::vibration_modes(axis).mode[0].rate_rad_s / (2.0 * std::numbers::pi);
}

/// The speed at which strokes like this, back and forth, take a period of the axis's own swing: (L + (v - c)^2/a)/v = 1/(2 f);
/// 0: they take longer at any speed that they reach.
double speed_to_avoid_m_s(const run::RingingStroke& stroke, double hz) {
    const double half = stroke.corner_m_s + 0.25 * stroke.acceleration_m_s2 / hz;
    const double root = half * half - stroke.corner_m_s * stroke.corner_m_s -
                        stroke.acceleration_m_s2 * stroke.length_m;
    return root < 0.0 ? 0.0 : half - std::sqrt(root);
}

}  // namespace

void check_ringing(const CheckInput& input, Findings& findings) {
    for (std::size_t slot = 0; slot < input.machine.axes.size(); ++slot) {
        const machine::Axis& axis = input.machine.axes[slot];
        if (!axis.travel_min) continue;  // endless: it moves filament, no tool
        const run::MotorSlip* worst = nullptr;
        for (const run::ProgramResult& program : input.programs) {
            const run::MotorSlip& slip = program.slips.motors[slot];
            if (program.made_up || slip.ringing_m < kSeen_m) continue;
            if (worst == nullptr || slip.ringing_m > worst->ringing_m) worst = &slip;
        }
        if (worst == nullptr) continue;
        const double hz = natural_hz(input, slot);
        Finding finding = words::about("ringing", Grade::note, axis);
        finding.value = worst->ringing_m;
        finding.limit = kSeen_m;
        finding.unit = "m";
        finding.message = fmt::format(
            "{}: the tool swings by up to {} mm at its {} Hz", axis.letter,
            planner::format_number(1e3 * worst->ringing_m, 2), planner::format_number(hz, 3));
        words::place(finding, axis, worst->ringing_at);
        const double avoid_m_s = speed_to_avoid_m_s(worst->ringing_stroke, hz);
        finding.message +=
            avoid_m_s > 0.0
                ? fmt::format(
                      "; strokes of {} mm like there follow each other at this rate at {}: avoid "
                      "that "
                      "speed",
                      planner::format_number(1e3 * worst->ringing_stroke.length_m, 3),
                      words::mm_s(avoid_m_s))
                : "; it comes of single corners: less speed step or acceleration, less ringing";
        findings.push_back(std::move(finding));
    }
}

}  // namespace stepper_sim::check
