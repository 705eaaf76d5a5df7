#include "stepper_sim/trial/trial_loudness.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stepper_sim::trial {

double Loudness::peak_rad() const {
    return *std::max_element(swing_rad.begin(), swing_rad.end());
}

std::optional<double> Loudness::heard_Hz() const {
    const auto loudest = static_cast<std::size_t>(
        std::max_element(swing_rad.begin(), swing_rad.end()) - swing_rad.begin());
    if (loudest == 0 || loudest + 1 >= swing_rad.size()) return std::nullopt;
    const double before = std::log(swing_rad[loudest - 1] / swing_rad[loudest]);
    const double after = std::log(swing_rad[loudest + 1] / swing_rad[loudest]);
    const double bend = before + after;                                     // <= 0
    const double shift = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;  // in rungs, -1/2 to 1/2
    const double ratio = shift < 0.0 ? frequency_Hz[loudest] / frequency_Hz[loudest - 1]
                                     : frequency_Hz[loudest + 1] / frequency_Hz[loudest];
    return frequency_Hz[loudest] * std::pow(ratio, shift);
}

Loudness loudness(const TrialRig& rig, const dynamics::AxisDynamics& axis, const RungMotion& motion,
                  std::span<const double> frequencies_Hz) {
    Loudness heard;
    std::vector<RungMotion> motions;
    for (const double frequency_Hz : frequencies_Hz) {
        heard.frequency_Hz.push_back(frequency_Hz);
        motions.push_back(with_value(motion, frequency_Hz));
    }
    for (const dynamics::WindowOutcome& outcome : run_rungs(rig, axis, motions, true))
        heard.swing_rad.push_back(
            outcome.slipped() ? std::numbers::pi
                              : std::clamp(outcome.peak_load_angle_rad, 1e-9, std::numbers::pi));
    return heard;
}

}  // namespace stepper_sim::trial
