#include "stepper_sim/dynamics/swing_bank.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <utility>

// Rows are passed between functions of one translation unit only: how other compilers would pass them does not matter.
#pragma GCC diagnostic ignored "-Wpsabi"

namespace stepper_sim::dynamics {
namespace {

constexpr double kMaxDamping = 0.999;  // the oscillating form of the solution needs a ratio below 1
constexpr double kNoTorque_Nm = 1e-12;  // below this the motor makes nothing
constexpr double kGone = 1e-6;          // of the peak torque: nothing is left of a swing
// A straight line with a cube through (2/pi) asin x at 0 and 1: within 0.035.
constexpr double kMeanSlope = 2.0 / std::numbers::pi;
// max(a, b) and 0.4 min(a, b) + 0.96 max(a, b): the length of (a, b) within 4 %, never more than 1 % below.
constexpr double kLengthMax = 0.97, kLengthMin = 0.4;

template <class ModeRow>
auto amplitude(const ModeRow& m) {
    using Row = decltype(m.re);
    const Row re = m.re < 0.0 ? -m.re : m.re, im = m.im < 0.0 ? -m.im : m.im;
    const Row more = re > im ? re : im, less = re > im ? im : re;
    const Row mixed = kLengthMax * more + kLengthMin * less;
    return mixed > more ? mixed : more;
}

}  // namespace

void SwingBank::set_mode(std::size_t lane, std::size_t mode, const AxisDynamics& axis,
                         const VibrationMode& shape) {
    ModeRow& row = modes_[lane / kWidth][mode];
    const std::size_t k = lane % kWidth;
    const double damping = std::clamp(shape.damping, 0.0, kMaxDamping);
    const double w = shape.rate_rad_s, damped = w * std::sqrt(1.0 - damping * damping);
    const double per_q = magnetic_stiffness_Nm_rad(axis) * shape.rotor_shape;  // torque of a unit
    row.decay_1_s[k] = damping * w;
    row.damped_rate_rad_s[k] = damped;
    row.per_accel[k] = per_q * shape.participation / (w * w);
    row.per_friction[k] = per_q * shape.load_shape / (w * w) * axis.coulomb_Nm;
    row.per_jump[k] = per_q * shape.participation / damped;
    row.loss_Nm_s[k] = kMeanSlope * std::fabs(row.per_friction[k]) * w;
    row.load_speed[k] = w * std::fabs(shape.load_shape / per_q);
    if (lane == kNominalLane)
        tool_m_Nm_[mode] = std::fabs(shape.load_shape * axis.metres_per_rad / per_q);
}

SwingBank::SwingBank(const BankAxes& axes, double most_friction, TorqueTable weakest,
                     TorqueTable low)
    : ripple_({axes.data(), kSpreadLanes}, weakest.top_rate_rad_s()),
      nominal_ripple_({&axes[kNominalLane], 1}, weakest.top_rate_rad_s()),
      weakest_(std::move(weakest)),
      low_(std::move(low)) {
    const AxisDynamics& nominal = axes[kNominalLane];
    gravity_Nm_ = nominal.gravity_Nm;
    viscous_Nms_rad_ = nominal.rotor_viscous_Nms_rad + nominal.load_viscous_Nms_rad;
    rotor_teeth_ = nominal.rotor_teeth;
    peak_torque_Nm_ = peak_torque_Nm(nominal);
    metres_per_rad_ = nominal.metres_per_rad;
    elastic_ = false;
    for (std::size_t lane = 0; lane < kBankLanes; ++lane) {
        const VibrationModes modes = vibration_modes(axes[lane]);
        elastic_ = elastic_ || modes.count > 1;
        for (std::size_t mode = 0; mode < modes.used().size(); ++mode)
            set_mode(lane, mode, axes[lane], modes.mode[mode]);
        inertia_kg_m2_[lane / kWidth][lane % kWidth] = total_inertia_kg_m2(axes[lane]);
        most_coulomb_Nm_[lane / kWidth][lane % kWidth] =
            axes[lane].coulomb_Nm * (lane == kNominalLane ? 1.0 : most_friction);
    }
    for (const CarriageMode& mode : nominal.carriage_modes) {
        const double w = 2.0 * std::numbers::pi * mode.frequency_Hz;
        const double damping = std::clamp(mode.damping, 0.0, kMaxDamping);
        carriages_.push_back(
            {damping * w, w * std::sqrt(1.0 - damping * damping), w * w, nominal.metres_per_rad});
    }
}

void SwingBank::phase(const RatePhase& phase) {
    split_at_turn(phase, [this](const RatePhase& part) { run(part); });
}

void SwingBank::run(const RatePhase& phase) {
    MoveScreen& screen = move_.screen;
    const double end_rad_s = phase.end_rate_rad_s();
    const bool still = phase.start_rate_rad_s == 0.0 && end_rad_s == 0.0;
    const double jump_rad_s = phase.start_rate_rad_s - rate_rad_s_;
    at_rest_ = at_rest_ && still && jump_rad_s == 0.0;
    if (!at_rest_) kick(phase, jump_rad_s);
    if (std::exchange(move_begins_, false)) {
        screen.start_rate_rad_s = phase.start_rate_rad_s;
        if (!at_rest_) screen.corner_ringing_m = ringing_m();
    }
    screen.top_rate_rad_s =
        std::max({screen.top_rate_rad_s, std::fabs(phase.start_rate_rad_s), std::fabs(end_rad_s)});
    rate_rad_s_ = end_rad_s;
    acceleration_rad_s2_ = phase.acceleration_rad_s2;
    if (!(phase.duration_s > 0.0)) return;
    if (!at_rest_) look(phase);
    screen.duration_s += phase.duration_s;
    if (at_rest_) return;
    turn(phase);
    wear(phase.duration_s);
    if (!still) return;
    Row most{};
    for (std::size_t row = 0; row < kRows; ++row) {
        const Row a = amplitude(modes_[row][0]), b = amplitude(modes_[row][1]);
        most = most > a ? most : a;
        most = most > b ? most : b;
    }
    at_rest_ = std::max({most[0], most[1], most[2], most[3]}) < kGone * peak_torque_Nm_ &&
               ringing_m() < kGone * metres_per_rad_;
}

/// What the change of motion does to the swings, and how much of dry friction is a constant torque, how much a loss.
void SwingBank::kick(const RatePhase& phase, double jump_rad_s) {
    const double change_rad_s2 = phase.acceleration_rad_s2 - acceleration_rad_s2_;
    const double end_rad_s = phase.end_rate_rad_s();
    const double sum_rad_s = phase.start_rate_rad_s + end_rad_s;
    if (sum_rad_s != 0.0) direction_ = sum_rad_s > 0.0 ? 1.0 : -1.0;
    const double mean_rad_s = 0.5 * std::fabs(sum_rad_s);
    for (std::size_t row = 0; row < kRows; ++row) {
        ModeRow& slow = modes_[row][0];
        const Row swing = amplitude(slow) * slow.load_speed;
        // Friction of a load at rest holds it where it is: its torque stays.
        const Row x = mean_rad_s < swing ? mean_rad_s / swing : Row{} + 1.0;
        const Row share = direction_ * x * (kMeanSlope + (1.0 - kMeanSlope) * x * x);
        const Row next = sum_rad_s == 0.0 ? friction_share_[row] : share;
        const Row changed = next - friction_share_[row];
        friction_share_[row] = next;
        const Row left = 1.0 - x * x;
        for (std::size_t k = 0; k < kWidth; ++k)
            loss_share_[row][k] = left[k] > 0.0 ? std::sqrt(left[k]) : 0.0;
        for (ModeRow& m : modes_[row]) {
            m.re -= m.per_accel * change_rad_s2 + m.per_friction * changed;
            m.im -= m.per_jump * jump_rad_s;
        }
    }
    for (Carriage& c : carriages_) {
        c.re -= c.metres_per_rad * change_rad_s2 / c.rate2;
        c.im -= c.metres_per_rad * jump_rad_s / c.damped_rate_rad_s;
    }
}

/// The bound over a phase: what the motion asks, and all swings at once.
void SwingBank::look(const RatePhase& phase) {
    MoveScreen& screen = move_.screen;
    const double end_rad_s = phase.end_rate_rad_s();
    const double fastest_rad_s = std::max(std::fabs(phase.start_rate_rad_s), std::fabs(end_rad_s));
    const double steady_Nm =
        viscous_Nms_rad_ * (std::fabs(end_rad_s) > std::fabs(phase.start_rate_rad_s)
                                ? end_rad_s
                                : phase.start_rate_rad_s) +
        gravity_Nm_;
    double most_Nm = 0.0, nominal_Nm = 0.0, nominal_swing_Nm = 0.0;
    std::size_t worst = 0;
    for (std::size_t row = 0; row < kRows; ++row) {
        const Row asked = inertia_kg_m2_[row] * phase.acceleration_rad_s2 +
                          most_coulomb_Nm_[row] * friction_share_[row] + steady_Nm;
        const Row swing =
            amplitude(modes_[row][0]) + (elastic_ ? amplitude(modes_[row][1]) : Row{});
        const Row steady = asked < 0.0 ? -asked : asked, bound = steady + swing;
        for (std::size_t k = 0; k < kWidth; ++k) {
            const std::size_t lane = row * kWidth + k;
            if (lane == kNominalLane) {
                nominal_Nm = steady[k];
                nominal_swing_Nm = swing[k];
            } else if (bound[k] > most_Nm) {
                most_Nm = bound[k];
                worst = lane;
            }
        }
    }
    const double ripple_Nm = ripple_.torque_Nm(phase.start_rate_rad_s, end_rad_s, phase.duration_s);
    const double available_Nm = std::max(weakest_.floor(fastest_rad_s), kNoTorque_Nm);
    const double ratio = (most_Nm + ripple_Nm) / available_Nm;
    move_.ripple_ratio = std::max(move_.ripple_ratio, ripple_Nm / available_Nm);
    if (ratio > screen.ratio) {
        screen.ratio = ratio;
        screen.peak_time_s = screen.duration_s;
        screen.worst_share = spread_share(worst);
        screen.peak_rate_rad_s = std::fabs(end_rad_s) > std::fabs(phase.start_rate_rad_s)
                                     ? end_rad_s
                                     : phase.start_rate_rad_s;
    }
    // Peaks of swing and ripple seldom meet: what is likely is their root sum of squares, what may be is their sum.
    nominal_Nm +=
        std::hypot(nominal_swing_Nm,
                   nominal_ripple_.torque_Nm(phase.start_rate_rad_s, end_rad_s, phase.duration_s));
    const double nominal = nominal_Nm / std::max(low_.floor(fastest_rad_s), kNoTorque_Nm);
    if (nominal > move_.nominal_ratio) {
        move_.nominal_ratio = nominal;
        screen.load_angle_rad = nominal_Nm / peak_torque_Nm_;
    }
}

void SwingBank::turn(const RatePhase& phase) {
    const double h = phase.duration_s;
    const auto turned_row = [h](ModeRow& m) {
        Row cosine{}, sine{};
        for (std::size_t half = 0; half < kWidth; half += 2) {
            const Turn turn =
                turn_over(Pair{m.decay_1_s[half], m.decay_1_s[half + 1]},
                          Pair{m.damped_rate_rad_s[half], m.damped_rate_rad_s[half + 1]}, h);
            cosine[half] = turn.cos[0];
            cosine[half + 1] = turn.cos[1];
            sine[half] = turn.sin[0];
            sine[half + 1] = turn.sin[1];
        }
        const Row re = m.re * cosine - m.im * sine;
        m.im = m.re * sine + m.im * cosine;
        m.re = re;
    };
    for (std::size_t row = 0; row < kRows; ++row) {
        turned_row(modes_[row][0]);
        if (elastic_) turned_row(modes_[row][1]);
    }
    for (Carriage& c : carriages_) {
        const double kept = std::exp(-c.decay_1_s * h);
        const double cosine = kept * std::cos(c.damped_rate_rad_s * h);
        const double sine = kept * std::sin(c.damped_rate_rad_s * h);
        const double re = c.re * cosine - c.im * sine;
        c.im = c.re * sine + c.im * cosine;
        c.re = re;
    }
}

/// Dry friction takes a constant amount of amplitude a second from a swing that is faster than the motion.
void SwingBank::wear(double duration_s) {
    for (std::size_t row = 0; row < kRows; ++row) {
        const Row share = loss_share_[row];
        if (share[0] + share[1] + share[2] + share[3] == 0.0) continue;
        for (ModeRow& m : modes_[row]) {
            const Row lost = m.loss_Nm_s * share * duration_s;
            const Row size = amplitude(m);
            const Row kept = lost < size ? (size - lost) / (size + kNoTorque_Nm) : Row{};
            m.re *= kept;
            m.im *= kept;
        }
    }
}

double SwingBank::ringing_m() const {
    constexpr std::size_t row = kNominalLane / kWidth, lane = kNominalLane % kWidth;
    double sum_m = 0.0;
    for (std::size_t mode = 0; mode < kModes; ++mode) {
        const ModeRow& m = modes_[row][mode];
        sum_m += tool_m_Nm_[mode] * std::hypot(m.re[lane], m.im[lane]);
    }
    for (const Carriage& c : carriages_)
        sum_m += std::hypot(c.re, c.im);
    return sum_m;
}

MoveSwing SwingBank::end_move() {
    if (!at_rest_) move_.screen.ringing_m = ringing_m();
    move_.screen.end_rate_rad_s = rate_rad_s_;
    move_begins_ = true;
    return std::exchange(move_, MoveSwing{});
}

}  // namespace stepper_sim::dynamics
