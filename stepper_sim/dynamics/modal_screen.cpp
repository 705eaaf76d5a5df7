#include "stepper_sim/dynamics/modal_screen.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace stepper_sim::dynamics {
namespace {

// Swings below both are gone: far under what any verdict or picture can tell.
constexpr double kGoneRatio = 1e-6, kGoneTool_m = 1e-9;
constexpr double kMaxModeDamping =
    0.999;  // the oscillating form of the solution needs a ratio below 1

}  // namespace

void ModalScreen::set_mode(ModePair& modes, std::size_t lane, double rate_rad_s, double damping) {
    const double ratio = std::clamp(damping, 0.0, kMaxModeDamping);
    modes.rate_rad_s[lane] = rate_rad_s;
    modes.decay_1_s[lane] = ratio * rate_rad_s;
    modes.damped_rate_rad_s[lane] = rate_rad_s * std::sqrt(1.0 - ratio * ratio);
    modes.rate2[lane] = rate_rad_s * rate_rad_s;
    modes.per_rate2[lane] = 1.0 / modes.rate2[lane];
    modes.per_damped_rate_s[lane] = 1.0 / modes.damped_rate_rad_s[lane];
    modes.rest_per_slope_s[lane] = 2.0 * ratio / rate_rad_s;
}

std::vector<ModalScreen::ModePair> ModalScreen::mode_pairs(const AxisDynamics& axis) {
    const VibrationModes rotor = vibration_modes(axis);
    std::vector<ModePair> pairs(1);
    for (std::size_t lane = 0; lane < rotor.used().size(); ++lane) {
        const VibrationMode& shape = rotor.mode[lane];
        ModePair& modes = pairs[0];
        set_mode(modes, lane, shape.rate_rad_s, shape.damping);
        modes.drive[lane] = shape.participation;
        modes.viscous[lane] = shape.rotor_shape * axis.rotor_viscous_Nms_rad +
                              shape.load_shape * axis.load_viscous_Nms_rad;
        modes.load_force[lane] = shape.load_shape;
        modes.rotor_shape[lane] = shape.rotor_shape;
        modes.load_shape[lane] = shape.load_shape;
        modes.tool_size_m[lane] = std::fabs(shape.load_shape * axis.metres_per_rad);
    }
    for (std::size_t i = 0; i < axis.carriage_modes.size(); ++i) {
        const CarriageMode& measured = axis.carriage_modes[i];
        const std::size_t lane = i % 2;
        if (lane == 0) pairs.emplace_back();
        set_mode(pairs.back(), lane, 2.0 * std::numbers::pi * measured.frequency_Hz,
                 measured.damping);
        pairs.back().drive[lane] = axis.metres_per_rad;
        pairs.back().tool_size_m[lane] = 1.0;
    }
    return pairs;
}

ModalScreen::ModalScreen(const AxisDynamics& axis, TorqueTable torque, Ringing ringing)
    : modes_(mode_pairs(axis)),
      search_({modes_[0].decay_1_s, modes_[0].damped_rate_rad_s, modes_[0].rate2,
               modes_[0].rotor_shape},
              magnetic_stiffness_Nm_rad(axis), std::move(torque)),
      coulomb_Nm_(axis.coulomb_Nm),
      gravity_Nm_(axis.gravity_Nm),
      rotor_teeth_(axis.rotor_teeth),
      fast_stretch_(base_rate_rad_s(axis)),
      ringing_(ringing) {
    for (ModePair& modes : modes_)
        modes.q = forcing(modes, 0.0, 0.0).rest_point;
}

ModalScreen::Forcing ModalScreen::forcing(const ModePair& modes, double rate_rad_s,
                                          double acceleration_rad_s2) const {
    const double load_Nm = coulomb_Nm_ * direction_ + gravity_Nm_;
    const Pair force =
        modes.drive * acceleration_rad_s2 + modes.viscous * rate_rad_s + modes.load_force * load_Nm;
    const Pair slope = modes.viscous * acceleration_rad_s2 * modes.per_rate2;
    return {force * modes.per_rate2 - modes.rest_per_slope_s * slope, slope};
}

Swing ModalScreen::free_swing(const ModePair& modes, const Forcing& forcing) {
    const Pair u = modes.q - forcing.rest_point;
    const Pair u_rate = modes.q_rate - forcing.rest_slope;
    return {u, -(u_rate + modes.decay_1_s * u) * modes.per_damped_rate_s};
}

void ModalScreen::phase(const RatePhase& phase) {
    const double jump_rad_s = phase.start_rate_rad_s - rate_rad_s_;
    if (phase.start_rate_rad_s != 0.0 || phase.acceleration_rad_s2 != 0.0 || jump_rad_s != 0.0)
        at_rest_ = false;
    if (jump_rad_s != 0.0)
        for (ModePair& modes : modes_)
            modes.q_rate += modes.drive * jump_rad_s;
    rate_rad_s_ = phase.start_rate_rad_s;
    split_at_turn(phase, [this](const RatePhase& part) { run(part); });
}

void ModalScreen::begin_move(const RatePhase& phase) {
    move_begins_ = false;
    move_.start_rate_rad_s = phase.start_rate_rad_s;
    if (ringing_ == Ringing::measured && !at_rest_)
        move_.corner_ringing_m = ringing_m(phase.start_rate_rad_s, phase.acceleration_rad_s2);
}

void ModalScreen::run(const RatePhase& phase) {
    const double end_rad_s = phase.end_rate_rad_s();
    const double sum_rad_s = phase.start_rate_rad_s + end_rad_s;
    if (sum_rad_s != 0.0) direction_ = sum_rad_s > 0.0 ? 1.0 : -1.0;
    if (move_begins_) begin_move(phase);
    move_.top_rate_rad_s =
        std::max({move_.top_rate_rad_s, std::fabs(phase.start_rate_rad_s), std::fabs(end_rad_s)});
    if (!(phase.duration_s > 0.0)) return;
    LagCourse course{phase, 0.0, 0.0, {}, 0.0, move_.duration_s};
    move_.duration_s += phase.duration_s;
    if (at_rest_) return search_.consider(course, rotor_lag_rad(), 0.0, peak_);

    bool rotor = true;
    for (ModePair& modes : modes_) {
        const Forcing f = forcing(modes, phase.start_rate_rad_s, phase.acceleration_rad_s2);
        const Swing start = free_swing(modes, f);
        if (std::exchange(rotor, false)) {
            course.rest_rad = sum_of(modes.rotor_shape * f.rest_point);
            course.rest_slope = sum_of(modes.rotor_shape * f.rest_slope);
            course.swing = start;
        }
        const Swing end =
            turned(start, turn_over(modes.decay_1_s, modes.damped_rate_rad_s, phase.duration_s));
        modes.q = end.re + f.rest_point + f.rest_slope * phase.duration_s;
        modes.q_rate = -modes.decay_1_s * end.re - modes.damped_rate_rad_s * end.im + f.rest_slope;
    }
    course.end_rad = rotor_lag_rad();
    search_.search(course, ratio_floor_, peak_);
    fast_stretch_.phase(phase);
    rate_rad_s_ = end_rad_s;
    at_rest_ = phase.start_rate_rad_s == 0.0 && end_rad_s == 0.0 && swing_is_gone();
}

bool ModalScreen::swing_is_gone() const {
    const Pair rotor =
        modes_[0].rotor_shape * amplitude(free_swing(modes_[0], forcing(modes_[0], 0.0, 0.0)));
    const double rotor_rad = std::fabs(rotor[0]) + std::fabs(rotor[1]);
    return rotor_rad < kGoneRatio * search_.rad_per_ratio(0.0) && ringing_m(0.0, 0.0) < kGoneTool_m;
}

double ModalScreen::rotor_lag_rad() const {
    return sum_of(modes_[0].rotor_shape * modes_[0].q);
}

double ModalScreen::load_lag_rad() const {
    return sum_of(modes_[0].load_shape * modes_[0].q);
}

double ModalScreen::ringing_m() const {
    return ringing_m(rate_rad_s_, 0.0);
}

double ModalScreen::ringing_m(double rate_rad_s, double acceleration_rad_s2) const {
    double sum_m = 0.0;
    for (const ModePair& modes : modes_)
        sum_m +=
            sum_of(modes.tool_size_m *
                   amplitude(free_swing(modes, forcing(modes, rate_rad_s, acceleration_rad_s2))));
    return sum_m;
}

MoveScreen ModalScreen::end_move() {
    if (ringing_ == Ringing::measured && !at_rest_) move_.ringing_m = ringing_m();
    move_.end_rate_rad_s = rate_rad_s_;
    move_.fast_stretch_s = fast_stretch_.end_move();
    move_.ratio = peak_.ratio;
    move_.load_angle_rad = rotor_teeth_ * peak_.lag_rad;
    move_.peak_time_s = peak_.time_s;
    move_.peak_rate_rad_s = peak_.rate_rad_s;
    move_begins_ = true;
    peak_ = {};
    return std::exchange(move_, MoveScreen{});
}

}  // namespace stepper_sim::dynamics
