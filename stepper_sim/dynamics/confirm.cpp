#include "stepper_sim/dynamics/confirm.hpp"

#include <algorithm>
#include <array>
#include <vector>

namespace stepper_sim {
namespace {

constexpr std::array<double, 3> kViscousFactors{1.0, 1.0 / 3.0, 3.0};
constexpr std::array<CurrentRegulator, 2> kRegulators{CurrentRegulator::dead_beat,
                                                      CurrentRegulator::mixed_decay};

std::size_t runs_of(const WindowCase& window) {
    return window.long_fast_stretch ? kRegulators.size() * kViscousFactors.size()
                                    : kRegulators.size();
}

/// `outcomes`: first both regulators at the nominal damping, then pairs at the other dampings.
Confirmation verdict_of(std::span<const WindowOutcome> outcomes) {
    Confirmation result;
    result.dead_beat = outcomes[0];
    result.mixed_decay = outcomes[1];
    result.runs = static_cast<int>(outcomes.size());
    for (const WindowOutcome& outcome : outcomes) {
        result.peak_load_angle_rad =
            std::max(result.peak_load_angle_rad, outcome.peak_load_angle_rad);
        if (outcome.slipped()) ++result.slips;
        if (outcome.lost_synchronism &&
            (result.lost_time_s < 0.0 || outcome.lost_time_s < result.lost_time_s))
            result.lost_time_s = outcome.lost_time_s;
    }
    if (outcomes[0].slipped() && outcomes[1].slipped())
        result.verdict = SlipVerdict::likely;
    else if (result.slips > 0)
        result.verdict = SlipVerdict::possible;
    for (std::size_t i = 2; i < outcomes.size(); ++i)
        if (outcomes[i].slipped() != outcomes[i % 2].slipped()) result.damping_decides = true;
    return result;
}

}  // namespace

void confirm(std::span<const WindowCase> cases, std::span<Confirmation> results) {
    std::vector<WindowRun> runs;
    for (const WindowCase& window : cases)
        for (std::size_t i = 0; i < runs_of(window); ++i)
            runs.push_back({window.axis, window.edges, window.duration_s, window.start_rate_rad_s,
                            window.top_rate_rad_s, kRegulators[i % kRegulators.size()],
                            kViscousFactors[i / kRegulators.size()], window.until_lost});
    std::vector<WindowOutcome> outcomes(runs.size());
    simulate(runs, outcomes);
    std::size_t next = 0;
    for (std::size_t i = 0; i < cases.size(); ++i) {
        const std::size_t count = runs_of(cases[i]);
        results[i] = verdict_of(std::span<const WindowOutcome>(outcomes).subspan(next, count));
        next += count;
    }
}

}  // namespace stepper_sim
