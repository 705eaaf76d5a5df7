#include "stepper_sim/tune/trial_limit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "stepper_sim/motor/speed_step.hpp"

namespace stepper_sim {

namespace {

constexpr int kCoarse = 13;            // values of a ladder, simulated side by side
constexpr double kCoarseReach = 2.25;  // from its first to its last
constexpr int kFine = 25;              // 1.3 % apart
constexpr double kFineReach = 1.35;
// An edge: most of five neighbours slip, not a lone one.
constexpr std::ptrdiff_t kNeighbours = 5, kMost = 3;
constexpr int kMostShifts = 10;  // of a coarse ladder: six powers of ten, far beyond any guess
constexpr int kMostFineShifts = 4;
constexpr double kFineShift = 1.15;
constexpr double kAlmost = 0.995;

std::vector<double> ladder(double low, double high, int count) {
    std::vector<double> values;
    for (int i = 0; i < count; ++i)
        values.push_back(low * std::pow(high / low, i / (count - 1.0)));
    return values;
}

std::vector<bool> slips(const TrialRig& rig, const AxisDynamics& axis, const RungMotion& motion,
                        const std::vector<double>& values) {
    std::vector<RungMotion> motions;
    for (const double value : values)
        motions.push_back(with_value(motion, value));
    std::vector<bool> slip;
    for (const WindowOutcome& outcome : run_rungs(rig, axis, motions, true))
        slip.push_back(outcome.slipped());
    return slip;
}

/// The lowest value of coarse ladders that slips, with a whole ladder below it that holds; `top` where none does.
double first_slip(const TrialRig& rig, const AxisDynamics& axis, const RungMotion& motion,
                  double guess, double top) {
    double high = std::min(guess * std::sqrt(kCoarseReach), top), lowest = 0.0;
    bool holds_below = false;
    for (int shift = 0; shift < kMostShifts; ++shift) {
        const std::vector<double> values = ladder(high / kCoarseReach, high, kCoarse);
        const std::vector<bool> slip = slips(rig, axis, motion, values);
        const auto first = std::find(slip.begin(), slip.end(), true) - slip.begin();
        const bool holds = first == kCoarse;
        if (!holds) lowest = values[static_cast<std::size_t>(first)];
        holds_below = holds_below || holds;
        if (holds_below && lowest > 0.0) return lowest;
        if (holds && high >= top) return top;
        high = holds ? std::min(high * kCoarseReach, top) : values.front();
    }
    return lowest > 0.0 ? lowest : high;
}

/// First place in a fine ladder where most of the neighbours slip; its size where there is none.
std::ptrdiff_t edge_of(const std::vector<bool>& slip) {
    for (std::ptrdiff_t i = 0; i + kNeighbours <= kFine; ++i)
        if (std::count(slip.begin() + i, slip.begin() + i + kNeighbours, true) >= kMost) return i;
    return kFine;
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
    const double middle = surely ? guess : first_slip(rig, axis, motion, std::min(guess, top), top);
    double high = std::min(middle * std::sqrt(kFineReach), top);
    for (int shift = 0;; ++shift) {
        const double low = high / kFineReach;
        const std::vector<bool> slip = slips(rig, axis, motion, ladder(low, high, kFine));
        const std::ptrdiff_t edge = edge_of(slip);
        if (edge == kFine && high >= top) return {high, false};
        if ((edge > 0 && edge < kFine) || shift == kMostFineShifts) {
            const std::ptrdiff_t from = std::min<std::ptrdiff_t>(edge, kFine - kNeighbours);
            const auto held =
                std::count(slip.begin() + from, slip.begin() + from + kNeighbours, false);
            const double rungs = static_cast<double>(from + held) - 0.5;
            return {low * std::pow(kFineReach, std::max(rungs, 0.0) / (kFine - 1.0)), true};
        }
        high = edge == 0 ? high / kFineShift : std::min(high * kFineShift, top);
    }
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
