#include "stepper_sim/dynamics/step_ripple.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stepper_sim::dynamics {
namespace {

constexpr double kTurn_rad = 2.0 * std::numbers::pi;
// Speeds on the grid are 4 % apart: the half-power width of a mode with the usual damping of 2 %.
constexpr double kGridStep = 1.04;
// Steps at a tenth of the slowest frequency: each has died before the next.
constexpr double kSlowestShare = 0.1;
constexpr std::size_t kMostCells = 200;
constexpr int kHarmonics = 4;  // the fifth is a fifth of the first
constexpr int kIterations = 8;
// Below this share of the peak torque ripple is not worth a look.
constexpr double kNegligible = 0.02;

struct Excitation {
    double rate_rad_s;
    double step_rad;   // amplitude of a harmonic of the command
    double torque_Nm;  // or of the detent
};

struct ModeAnswer {
    double torque_Nm, growth_1_s;
};

/// Steady swing of one mode as torque at the rotor; dry friction enters as damping once the load swings faster than it moves.
ModeAnswer answer_of(const AxisDynamics& axis, const VibrationMode& mode, const Excitation& by,
                     double rate_rad_s) {
    const double w = mode.rate_rad_s, W = by.rate_rad_s;
    const double km = magnetic_stiffness_Nm_rad(axis);
    const double drive = km * std::fabs(mode.rotor_shape) *
                         (std::fabs(mode.participation) * W * W * by.step_rad +
                          std::fabs(mode.rotor_shape) * by.torque_Nm);
    const double friction_Nm =
        km * std::fabs(mode.rotor_shape * mode.load_shape) * axis.coulomb_Nm / (w * w);
    const double load_rad_s_per_Nm =
        W * std::fabs(mode.load_shape) / (km * std::fabs(mode.rotor_shape));
    double damping = mode.damping, torque_Nm = 0.0;
    for (int i = 0; i < kIterations; ++i) {
        torque_Nm = drive / std::hypot(w * w - W * W, 2.0 * damping * w * W);
        const double swing_rad_s = load_rad_s_per_Nm * torque_Nm;
        const double x = swing_rad_s > 0.0 ? std::fabs(rate_rad_s) / swing_rad_s : 1.0;
        if (x >= 1.0) break;
        const double by_friction =
            2.0 / std::numbers::pi * friction_Nm / torque_Nm * std::sqrt(1.0 - x * x);
        // Half way each time: friction falls as the swing grows.
        damping = 0.5 * (damping + mode.damping + by_friction);
    }
    return {torque_Nm, damping * w};
}

}  // namespace

StepRipple::Answer StepRipple::answer_at(std::span<const AxisDynamics> axes,
                                         double rate_rad_s) const {
    Answer worst;
    for (const AxisDynamics& axis : axes) {
        const double step_rad = microstep_angle_rad(axis);
        const double step_rate_rad_s = kTurn_rad * rate_rad_s / step_rad;
        const VibrationModes modes = vibration_modes(axis);
        Answer answer;
        const auto consider = [&](const Excitation& by) {
            double sum_Nm = 0.0, growth_1_s = 0.0, most_Nm = 0.0;
            for (const VibrationMode& mode : modes.used()) {
                const ModeAnswer one = answer_of(axis, mode, by, rate_rad_s);
                sum_Nm += one.torque_Nm;
                if (one.torque_Nm > most_Nm) {
                    most_Nm = one.torque_Nm;
                    growth_1_s = one.growth_1_s;
                }
            }
            if (sum_Nm > answer.torque_Nm) answer = {sum_Nm, growth_1_s};
        };
        for (int n = 1; n <= kHarmonics; ++n)
            consider({n * step_rate_rad_s, step_rad / (std::numbers::pi * n), 0.0});
        if (axis.detent_torque_Nm > 0.0)
            consider({4.0 * axis.rotor_teeth * rate_rad_s, 0.0, axis.detent_torque_Nm});
        if (answer.torque_Nm > worst.torque_Nm) worst = answer;
    }
    return worst;
}

StepRipple::StepRipple(std::span<const AxisDynamics> axes, double top_rate_rad_s) {
    double slowest_rad_s = vibration_modes(axes.front()).mode[0].rate_rad_s;
    double peak_Nm = 0.0;
    for (const AxisDynamics& axis : axes) {
        slowest_rad_s = std::min(slowest_rad_s, vibration_modes(axis).mode[0].rate_rad_s);
        peak_Nm = std::max(peak_Nm, peak_torque_Nm(axis));
    }
    const double step_rad = microstep_angle_rad(axes.front());
    steps_per_rad_ = 1.0 / step_rad;
    slowest_rad_s_ = kSlowestShare * slowest_rad_s * step_rad / kTurn_rad;
    // A step that has only begun: the rotor still stands where it was.
    least_Nm_ = 0.5 * step_rad * magnetic_stiffness_Nm_rad(axes.back());
    const double cells =
        std::log(std::max(top_rate_rad_s / slowest_rad_s_, kGridStep)) / std::log(kGridStep);
    const auto count =
        static_cast<std::size_t>(std::clamp(std::ceil(cells), 1.0, double(kMostCells)));
    per_log_ = 1.0 / std::log(kGridStep);
    for (std::size_t i = 0; i <= count; ++i) {
        answers_.push_back(
            answer_at(axes, slowest_rad_s_ * std::exp(static_cast<double>(i) / per_log_)));
        most_Nm_ = std::max(most_Nm_, answers_.back().torque_Nm);
        most_growth_1_s_ = std::max(most_growth_1_s_, answers_.back().growth_1_s);
    }
    negligible_Nm_ = kNegligible * peak_Nm;
    if (least_Nm_ < negligible_Nm_) least_Nm_ = 0.0;
    if (most_Nm_ < negligible_Nm_) most_Nm_ = 0.0;
}

std::size_t StepRipple::place(double rate_rad_s) const {
    const double cell = std::log(std::max(rate_rad_s / slowest_rad_s_, 1.0)) * per_log_;
    return std::min(static_cast<std::size_t>(cell + 0.5), answers_.size() - 1);
}

double StepRipple::torque_Nm(double from_rad_s, double to_rad_s, double duration_s) const {
    const double low = std::min(std::fabs(from_rad_s), std::fabs(to_rad_s));
    const double high = std::max(std::fabs(from_rad_s), std::fabs(to_rad_s));
    if (high <= 0.0) return 0.0;  // at rest on a step
    if (most_Nm_ == 0.0) return least_Nm_;
    double grows_s = duration_s;
    if (high > low) {
        const double sweep_rad_s2 = kTurn_rad * steps_per_rad_ * (high - low) / duration_s;
        grows_s = std::min(grows_s, std::sqrt(kTurn_rad / sweep_rad_s2));
    }
    // Most changes of speed are over before anything has grown.
    double most_Nm = -most_Nm_ * std::expm1(-most_growth_1_s_ * grows_s);
    if (most_Nm <= std::max(least_Nm_, negligible_Nm_)) return least_Nm_;
    most_Nm = 0.0;
    for (std::size_t i = place(low); i <= place(high); ++i)
        most_Nm = std::max(most_Nm,
                           answers_[i].torque_Nm * -std::expm1(-answers_[i].growth_1_s * grows_s));
    return std::max(least_Nm_, most_Nm);
}

}  // namespace stepper_sim::dynamics
