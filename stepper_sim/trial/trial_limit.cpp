#include "stepper_sim/trial/trial_limit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "stepper_sim/motor/speed_step.hpp"

namespace stepper_sim::trial {

namespace {

// One ladder for all searches, so that what is found does not depend on where a search begins: rung k stands at exp(k kGrain).
constexpr double kGrain = 0.0125;
constexpr int kCoarseStep = 6;         // in rungs: 7.8 %
constexpr int kCoarse = 12;            // rungs simulated side by side: a reach of 2.3
constexpr int kFine = 24;              // likewise: 1.33
constexpr int kFineShift = kFine / 2;  // half of the rungs lie above what the coarse search found
// An edge: most of five neighbours slip, not a lone one.
constexpr std::ptrdiff_t kNeighbours = 5, kMost = 3;
constexpr int kMostShifts = 10;  // of the coarse rungs: eight powers of ten, far beyond any guess
constexpr int kMostFineShifts = 4;
constexpr double kAlmost = 0.995;  // of what the stroke lets the axis reach

double rung_value(double rung) {
    return std::exp(rung * kGrain);
}

/// The highest rung not above a value.
int rung_below(double value) {
    return static_cast<int>(std::floor(std::log(value) / kGrain));
}

/// What slips of `count` rungs from `first` on.
std::vector<bool> slips(const TrialRig& rig, const dynamics::AxisDynamics& axis,
                        const RungMotion& motion, int first, int count, int step) {
    std::vector<RungMotion> motions;
    motions.reserve(static_cast<std::size_t>(count));
    for (int i = 0; i < count; ++i)
        motions.push_back(with_value(motion, rung_value(first + i * step)));
    std::vector<bool> slip;
    for (const dynamics::WindowOutcome& outcome : run_rungs(rig, axis, motions, true))
        slip.push_back(outcome.slipped());
    return slip;
}

/// The lowest coarse rung that slips, with kCoarse of them below it that hold; `top` where none up to it does.
int first_slip(const TrialRig& rig, const dynamics::AxisDynamics& axis, const RungMotion& motion,
               int guess, int top) {
    const auto aligned = [](int rung) {
        return static_cast<int>(std::floor(rung / static_cast<double>(kCoarseStep))) * kCoarseStep;
    };
    constexpr int kReach = kCoarse * kCoarseStep;
    const int highest = aligned(top);
    int last = std::min(aligned(guess) + kReach / 2, highest), lowest = top;
    bool holds_below = false, slipped = false;
    for (int shift = 0; shift < kMostShifts; ++shift) {
        const int first = last - kReach + kCoarseStep;
        const std::vector<bool> slip = slips(rig, axis, motion, first, kCoarse, kCoarseStep);
        const auto at = std::find(slip.begin(), slip.end(), true) - slip.begin();
        const bool holds = at == kCoarse;
        if (!holds) lowest = first + static_cast<int>(at) * kCoarseStep;
        slipped = slipped || !holds;
        holds_below = holds_below || holds;
        if (holds_below && slipped) return lowest;
        if (holds && last == highest) return top;
        last = holds ? std::min(last + kReach, highest) : last - kReach;
    }
    return lowest;
}

/// First place among fine rungs where most of the neighbours slip; their number where there is none.
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

FoundLimit find_loss(const TrialRig& rig, const dynamics::AxisDynamics& axis,
                     const RungMotion& motion, double guess) {
    const double most = highest_value(motion);
    const int top = rung_below(most);
    const int middle = first_slip(rig, axis, motion, rung_below(guess), top);
    int first = std::min(middle + kFineShift, top + 1) - kFine;
    for (int shift = 0;; ++shift) {
        const std::vector<bool> slip = slips(rig, axis, motion, first, kFine, 1);
        const std::ptrdiff_t edge = edge_of(slip);
        if (edge == kFine && first + kFine > top) return {most, false};
        if ((edge > 0 && edge < kFine) || shift == kMostFineShifts) {
            const std::ptrdiff_t from = std::min<std::ptrdiff_t>(edge, kFine - kNeighbours);
            const auto held =
                std::count(slip.begin() + from, slip.begin() + from + kNeighbours, false);
            return {rung_value(static_cast<double>(first + from + held) - 0.5), true};
        }
        first = edge == 0 ? first - kFineShift : std::min(first + kFineShift, top + 1 - kFine);
    }
}

double guess_limit(const TrialRig& rig, const dynamics::AxisDynamics& axis,
                   const RungMotion& motion, double torque_Nm) {
    const double rad_per_axis_m = rig.rad_per_m * rig.motor_per_axis;
    const double inertia = dynamics::total_inertia_kg_m2(axis);
    const double steady_Nm = axis.coulomb_Nm + std::fabs(axis.gravity_Nm);
    constexpr double kLeast = 0.05;  // of the torque: a guess must be above zero
    const double spare_Nm =
        std::max(torque_Nm - steady_Nm, kLeast * dynamics::peak_torque_Nm(axis));
    switch (motion.question) {
        case TrialQuestion::speed:
            return std::max(dynamics::base_rate_rad_s(axis), 1.0) / rad_per_axis_m;
        case TrialQuestion::acceleration:
            return spare_Nm / inertia / rad_per_axis_m;
        case TrialQuestion::step:
            return motor::speed_step_rad_s(dynamics::peak_torque_Nm(axis), inertia,
                                           axis.rotor_teeth,
                                           steady_Nm / dynamics::peak_torque_Nm(axis)) /
                       rad_per_axis_m +
                   1e-4;
        case TrialQuestion::resonance:
            break;
    }
    return resonance_Hz(axis);
}

double resonance_Hz(const dynamics::AxisDynamics& axis) {
    return dynamics::vibration_modes(axis).mode[0].rate_rad_s / (2.0 * std::numbers::pi);
}

}  // namespace stepper_sim::trial
