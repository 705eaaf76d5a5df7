#include "stepper_sim/tune/trial_limit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "stepper_sim/motor/speed_step.hpp"

namespace stepper_sim {

namespace {

constexpr int kGrid = 8;  // values simulated side by side
constexpr double kWide = 2.25, kNarrow = 1.3;
constexpr double kFine = 1.006;  // the bracket ends at this ratio
constexpr int kMostShifts = 10;  // of the coarse grid: six powers of ten, far beyond any guess
constexpr double kAlmost = 0.995;

std::vector<double> grid(double low, double high, bool with_ends) {
    std::vector<double> values;
    for (int i = 1; i <= kGrid; ++i) {
        const double share = with_ends ? (i - 1.0) / (kGrid - 1.0) : i / (kGrid + 1.0);
        values.push_back(low * std::pow(high / low, share));
    }
    return values;
}

/// Index of the first value that slips; the size where none does.
std::size_t first_slip(const TrialRig& rig, const AxisDynamics& axis, const RungMotion& motion,
                       const std::vector<double>& values) {
    std::vector<RungMotion> motions;
    for (const double value : values)
        motions.push_back(with_value(motion, value));
    const std::vector<WindowOutcome> outcomes = run_rungs(rig, axis, motions);
    const auto slip = std::find_if(outcomes.begin(), outcomes.end(),
                                   [](const WindowOutcome& o) { return o.slipped(); });
    return static_cast<std::size_t>(slip - outcomes.begin());
}

}  // namespace

double highest_value(const RungMotion& motion) {
    constexpr double kHighestAcceleration_m_s2 = 1e3;  // Guess: no stepping motor makes 100 g
    switch (motion.question) {
        case TrialQuestion::speed:
            return kAlmost * std::sqrt(motion.acceleration_m_s2 * motion.stroke_m);
        case TrialQuestion::step:
            return motion.speed_m_s;
        case TrialQuestion::acceleration:
            return kHighestAcceleration_m_s2;
        case TrialQuestion::resonance:
            break;
    }
    return std::numeric_limits<double>::infinity();
}

FoundLimit find_loss(const TrialRig& rig, const AxisDynamics& axis, const RungMotion& motion,
                     double guess, bool surely) {
    const double top = highest_value(motion);
    const double width = surely ? kNarrow : kWide;
    const double middle = std::min(guess, top);
    double low = middle / std::sqrt(width), high = std::min(middle * std::sqrt(width), top);
    bool low_holds = false;
    for (int shift = 0; high > low * kFine; ++shift) {
        const std::vector<double> values = grid(low, high, !low_holds);
        const std::size_t slip = first_slip(rig, axis, motion, values);
        if (slip == values.size() && low_holds) {
            low = values.back();  // the upper end is known to slip
        } else if (slip == values.size()) {
            if (high >= top || shift >= kMostShifts) return {high, false};
            low = high;
            high = std::min(low * kWide, top);
        } else if (slip == 0 && !low_holds) {
            if (shift >= kMostShifts) break;
            high = low;
            low /= kWide;
        } else {
            low_holds = true;
            high = values[slip];
            if (slip > 0) low = values[slip - 1];
        }
    }
    return {std::sqrt(low * high), true};
}

double guess_limit(const TrialRig& rig, const AxisDynamics& axis, const RungMotion& motion,
                   double torque_Nm) {
    const double rad_per_axis_m = rig.rad_per_m * rig.motor_per_axis;
    const double inertia = total_inertia_kg_m2(axis);
    const double steady_Nm = axis.coulomb_Nm + std::fabs(axis.gravity_Nm);
    constexpr double kLeast = 0.05;  // of the torque: a guess must be above zero
    const double spare_Nm = std::max(torque_Nm - steady_Nm, kLeast * peak_torque_Nm(axis));
    switch (motion.question) {
        case TrialQuestion::speed:
            return std::max(corner_rate_rad_s(axis), 1.0) / rad_per_axis_m;
        case TrialQuestion::acceleration:
            return spare_Nm / inertia / rad_per_axis_m;
        case TrialQuestion::step:
            return speed_step_rad_s(peak_torque_Nm(axis), inertia, axis.rotor_teeth,
                                    steady_Nm / peak_torque_Nm(axis)) /
                       rad_per_axis_m +
                   1e-4;
        case TrialQuestion::resonance:
            break;
    }
    return resonance_Hz(axis);
}

double resonance_Hz(const AxisDynamics& axis) {
    return vibration_modes(axis).mode[0].rate_rad_s / (2.0 * std::numbers::pi);
}

}  // namespace stepper_sim
