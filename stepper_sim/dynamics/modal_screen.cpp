#include "stepper_sim/dynamics/modal_screen.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace stepper_sim {
namespace {

constexpr double kNoTorque_Nm =
    1e-12;  // below this the motor makes nothing: the ratio grows without bound
constexpr double kSearchStepsPerHalfTurn =
    4.0;  // of the fastest mode: two turning points cannot hide in one step
constexpr double kRoundingShare =
    1e-9;                        // of the speed: a stop that rounding carried below zero is a stop
constexpr int kNewtonSteps = 3;  // from a bracket of 1/8 turn: to rounding
constexpr double kChordShare =
    0.125;  // a curve leaves its chord by at most this times bend times step squared
// Swings below both are gone: far under what any verdict or picture can tell.
constexpr double kGoneRatio = 1e-6, kGoneTool_m = 1e-9;
constexpr double kMaxModeDamping =
    0.999;  // the oscillating form of the solution needs a ratio below 1

double magnitude(double re, double im) {
    return std::sqrt(re * re + im * im);
}

}  // namespace

ModalScreen::Mode ModalScreen::make_mode(double rate_rad_s, double damping) {
    Mode mode{};
    mode.rate_rad_s = rate_rad_s;
    mode.damping = std::clamp(damping, 0.0, kMaxModeDamping);
    mode.decay_1_s = mode.damping * rate_rad_s;
    mode.damped_rate_rad_s = rate_rad_s * std::sqrt(1.0 - mode.damping * mode.damping);
    mode.rate2 = rate_rad_s * rate_rad_s;
    mode.per_rate2 = 1.0 / mode.rate2;
    mode.per_damped_rate_s = 1.0 / mode.damped_rate_rad_s;
    mode.rest_per_slope_s = 2.0 * mode.damping / rate_rad_s;
    return mode;
}

ModalScreen::ModalScreen(const AxisDynamics& axis, TorqueTable torque, Ringing ringing)
    : torque_(std::move(torque)),
      magnetic_stiffness_Nm_rad_(magnetic_stiffness_Nm_rad(axis)),
      coulomb_Nm_(axis.coulomb_Nm),
      gravity_Nm_(axis.gravity_Nm),
      rotor_teeth_(axis.rotor_teeth),
      corner_rate_rad_s_(stepper_sim::corner_rate_rad_s(axis)),
      ringing_(ringing) {
    const VibrationModes rotor = vibration_modes(axis);
    rotor_modes_ = static_cast<std::size_t>(rotor.count);
    double fastest_rad_s = 0.0;
    for (const VibrationMode& shape : rotor.used()) {
        Mode mode = make_mode(shape.rate_rad_s, shape.damping);
        mode.drive = shape.participation;
        mode.viscous = shape.rotor_shape * axis.rotor_viscous_Nms_rad +
                       shape.load_shape * axis.load_viscous_Nms_rad;
        mode.load_force = shape.load_shape;
        mode.rotor_shape = shape.rotor_shape;
        mode.lag_shape = std::fabs(shape.rotor_shape);
        mode.bend_shape = mode.lag_shape * mode.rate2;
        mode.load_shape = shape.load_shape;
        mode.tool_shape_m = shape.load_shape * axis.metres_per_rad;
        fastest_rad_s = std::max(fastest_rad_s, mode.damped_rate_rad_s);
        modes_.push_back(mode);
    }
    for (const CarriageMode& measured : axis.carriage_modes) {
        Mode mode = make_mode(2.0 * std::numbers::pi * measured.frequency_Hz, measured.damping);
        mode.drive = axis.metres_per_rad;
        mode.tool_shape_m = 1.0;
        modes_.push_back(mode);
    }
    search_step_s_ = std::numbers::pi / (kSearchStepsPerHalfTurn * fastest_rad_s);
    for (Mode& mode : modes_) {
        mode.step_decay = std::exp(-mode.decay_1_s * search_step_s_);
        mode.step_cos = mode.step_decay * std::cos(mode.damped_rate_rad_s * search_step_s_);
        mode.step_sin = mode.step_decay * std::sin(mode.damped_rate_rad_s * search_step_s_);
        mode.q = forcing(mode, 0.0, 0.0).rest_point;
    }
}

ModalScreen::Forcing ModalScreen::forcing(const Mode& mode, double rate_rad_s,
                                          double acceleration_rad_s2) const {
    const double force = mode.drive * acceleration_rad_s2 + mode.viscous * rate_rad_s +
                         mode.load_force * (coulomb_Nm_ * direction_ + gravity_Nm_);
    const double slope = mode.viscous * acceleration_rad_s2 * mode.per_rate2;
    return {force * mode.per_rate2 - mode.rest_per_slope_s * slope, slope};
}

ModalScreen::Swing ModalScreen::free_swing(const Mode& mode, const Forcing& forcing) {
    const double u = mode.q - forcing.rest_point;
    const double u_rate = mode.q_rate - forcing.rest_slope;
    return {u, -(u_rate + mode.decay_1_s * u) * mode.per_damped_rate_s};
}

void ModalScreen::phase(const RatePhase& phase) {
    const double jump_rad_s = phase.start_rate_rad_s - rate_rad_s_;
    if (phase.start_rate_rad_s != 0.0 || phase.acceleration_rad_s2 != 0.0 || jump_rad_s != 0.0)
        at_rest_ = false;
    if (jump_rad_s != 0.0)
        for (Mode& mode : modes_)
            mode.q_rate += mode.drive * jump_rad_s;
    rate_rad_s_ = phase.start_rate_rad_s;
    const double end_rad_s = phase.end_rate_rad_s();
    const double rounding_rad_s =
        kRoundingShare * std::max(std::fabs(phase.start_rate_rad_s), std::fabs(end_rad_s));
    const bool turns_round = phase.start_rate_rad_s * end_rad_s < 0.0 &&
                             std::fabs(phase.start_rate_rad_s) > rounding_rad_s &&
                             std::fabs(end_rad_s) > rounding_rad_s;
    if (turns_round) {  // dry friction turns with the speed
        const double until_s = -phase.start_rate_rad_s / phase.acceleration_rad_s2;
        run({until_s, phase.start_rate_rad_s, phase.acceleration_rad_s2});
        run({phase.duration_s - until_s, 0.0, phase.acceleration_rad_s2});
    } else {
        run(phase);
    }
}

void ModalScreen::begin_move(const RatePhase& phase) {
    move_begins_ = false;
    move_.start_rate_rad_s = phase.start_rate_rad_s;
    if (ringing_ == Ringing::left_out || at_rest_) return;
    for (const Mode& mode : modes_) {
        const Swing swing =
            free_swing(mode, forcing(mode, phase.start_rate_rad_s, phase.acceleration_rad_s2));
        move_.corner_ringing_m += std::fabs(mode.tool_shape_m) * magnitude(swing.re, swing.im);
    }
}

void ModalScreen::time_fast_stretch(const RatePhase& phase) {
    const double start = std::fabs(phase.start_rate_rad_s) - corner_rate_rad_s_;
    const double end = std::fabs(phase.end_rate_rad_s()) - corner_rate_rad_s_;
    if (start <= 0.0) fast_stretch_s_ = 0.0;
    if (start <= 0.0 && end <= 0.0) return;
    const double share =
        start > 0.0 && end > 0.0 ? 1.0 : std::max(start, end) / std::fabs(end - start);
    fast_stretch_s_ += share * phase.duration_s;
    move_.fast_stretch_s = std::max(move_.fast_stretch_s, fast_stretch_s_);
    if (end <= 0.0) fast_stretch_s_ = 0.0;
}

void ModalScreen::run(const RatePhase& phase) {
    const double end_rad_s = phase.end_rate_rad_s();
    const double sum_rad_s = phase.start_rate_rad_s + end_rad_s;
    if (sum_rad_s != 0.0) direction_ = sum_rad_s > 0.0 ? 1.0 : -1.0;
    if (move_begins_) begin_move(phase);
    move_.top_rate_rad_s =
        std::max({move_.top_rate_rad_s, std::fabs(phase.start_rate_rad_s), std::fabs(end_rad_s)});
    if (!(phase.duration_s > 0.0)) return;
    if (at_rest_) {
        consider(rotor_lag_rad(), 0.0, phase);
        move_.duration_s += phase.duration_s;
        return;
    }

    RestPoint rest;
    Swings swings{};
    for (std::size_t i = 0; i < modes_.size(); ++i) {
        Mode& mode = modes_[i];
        const Forcing f = forcing(mode, phase.start_rate_rad_s, phase.acceleration_rad_s2);
        const Swing start = free_swing(mode, f);
        if (i < rotor_modes_) {
            rest.lag_rad += mode.rotor_shape * f.rest_point;
            rest.slope += mode.rotor_shape * f.rest_slope;
            swings[i] = start;
        }
        const double decayed = std::exp(-mode.decay_1_s * phase.duration_s);
        const double angle_rad = mode.damped_rate_rad_s * phase.duration_s;
        const double c = decayed * std::cos(angle_rad);
        const double s = decayed * std::sin(angle_rad);
        const Swing end{start.re * c - start.im * s, start.re * s + start.im * c};
        mode.q = end.re + f.rest_point + f.rest_slope * phase.duration_s;
        mode.q_rate = -mode.decay_1_s * end.re - mode.damped_rate_rad_s * end.im + f.rest_slope;
    }
    search_peak(phase, rest, swings);
    time_fast_stretch(phase);
    move_.duration_s += phase.duration_s;
    rate_rad_s_ = end_rad_s;
    at_rest_ = phase.start_rate_rad_s == 0.0 && end_rad_s == 0.0 && swing_is_gone();
}

bool ModalScreen::swing_is_gone() const {
    double rotor_rad = 0.0, tool_m = 0.0;
    for (const Mode& mode : modes_) {
        const Swing swing = free_swing(mode, forcing(mode, 0.0, 0.0));
        const double amplitude = magnitude(swing.re, swing.im);
        rotor_rad += std::fabs(mode.rotor_shape) * amplitude;
        tool_m += std::fabs(mode.tool_shape_m) * amplitude;
    }
    return rotor_rad * ratio_per_rad(0.0) < kGoneRatio && tool_m < kGoneTool_m;
}

double ModalScreen::ratio_per_rad(double fastest_rad_s) const {
    return magnetic_stiffness_Nm_rad_ / std::max(torque_.floor(fastest_rad_s), kNoTorque_Nm);
}

ModalScreen::Lag ModalScreen::lag_after(const RestPoint& rest, const Swings& swings, double time_s,
                                        double offset_s) const {
    Lag lag{rest.lag_rad + rest.slope * (time_s + offset_s), rest.slope, 0.0};
    for (std::size_t i = 0; i < rotor_modes_; ++i) {
        const Mode& mode = modes_[i];
        const double grown = mode.rotor_shape * std::exp(-mode.decay_1_s * offset_s);
        const double c = grown * std::cos(mode.damped_rate_rad_s * offset_s);
        const double s = grown * std::sin(mode.damped_rate_rad_s * offset_s);
        const double re = swings[i].re * c - swings[i].im * s;
        const double im = swings[i].re * s + swings[i].im * c;
        const double slope = -mode.decay_1_s * re - mode.damped_rate_rad_s * im;
        lag.value_rad += re;
        lag.slope += slope;
        lag.curvature += -2.0 * mode.decay_1_s * slope - mode.rate2 * re;
    }
    return lag;
}

/// Newton from the secant point of the slopes at both ends of a search step; returns the offset from its end, <= 0.
double ModalScreen::turning_point_s(const RestPoint& rest, const Swings& swings,
                                    const Sample& before, const Sample& after) const {
    double offset_s = -search_step_s_ * after.slope / (after.slope - before.slope);
    for (int i = 0; i < kNewtonSteps; ++i) {
        const Lag lag = lag_after(rest, swings, after.time_s, offset_s);
        if (lag.curvature == 0.0) break;
        offset_s = std::clamp(offset_s - lag.slope / lag.curvature, -search_step_s_, 0.0);
    }
    return offset_s;
}

/// From the peak of the lag to the peak of lag over torque, to first order in the torque's change.
double ModalScreen::ratio_shift_s(const Lag& peak, double time_s, const RatePhase& phase) const {
    const double bend_1_s2 = -peak.curvature / peak.value_rad;
    if (phase.acceleration_rad_s2 == 0.0 || !(bend_1_s2 > 0.0)) return 0.0;
    const double rate_rad_s = phase.start_rate_rad_s + phase.acceleration_rad_s2 * time_s;
    const double aside_rad_s = 0.25 * search_step_s_ * phase.acceleration_rad_s2;
    const double rise_Nm =
        torque_.at(rate_rad_s + aside_rad_s) - torque_.at(rate_rad_s - aside_rad_s);
    const double torque_Nm = std::max(torque_.at(rate_rad_s), kNoTorque_Nm);
    const double shift_s = -rise_Nm / (0.5 * search_step_s_ * torque_Nm * bend_1_s2);
    return std::clamp(shift_s, -search_step_s_, search_step_s_);
}

void ModalScreen::search_peak(const RatePhase& phase, const RestPoint& rest, Swings swings) {
    const double end_rad_s = phase.end_rate_rad_s();
    const double fastest_rad_s = std::max(std::fabs(phase.start_rate_rad_s), std::fabs(end_rad_s));
    const double per_rad = ratio_per_rad(fastest_rad_s);
    const double largest_rest_rad =
        std::max(std::fabs(rest.lag_rad), std::fabs(rest.lag_rad + rest.slope * phase.duration_s));

    // How far the lag may be from its rest point, and how much it may bend: both only decay.
    std::array<double, 2> size{};
    for (std::size_t i = 0; i < rotor_modes_; ++i)
        size[i] = magnitude(swings[i].re, swings[i].im);
    double bend = 0.0;  // largest curvature in the step that follows
    Sample before{0.0, 0.0, 0.0};
    for (double time_s = 0.0;; time_s += search_step_s_) {
        Sample now{time_s, rest.lag_rad + rest.slope * time_s, rest.slope};
        double bound_rad = largest_rest_rad;
        for (std::size_t i = 0; i < rotor_modes_; ++i) {
            const Mode& mode = modes_[i];
            Swing& swing = swings[i];
            if (time_s > 0.0) {
                swing = {swing.re * mode.step_cos - swing.im * mode.step_sin,
                         swing.re * mode.step_sin + swing.im * mode.step_cos};
                size[i] *= mode.step_decay;
            }
            now.lag_rad += mode.rotor_shape * swing.re;
            now.slope -=
                mode.rotor_shape * (mode.decay_1_s * swing.re + mode.damped_rate_rad_s * swing.im);
            bound_rad += mode.lag_shape * size[i];
        }
        const double told_apart = std::max(move_.ratio, ratio_floor_);
        if (time_s == 0.0 && bound_rad * per_rad <= ratio_floor_) return;
        const double chord_rad = std::max(std::fabs(now.lag_rad), std::fabs(before.lag_rad));
        const double arc_rad = chord_rad + kChordShare * bend * search_step_s_ * search_step_s_;
        if (now.slope * before.slope < 0.0 && arc_rad * per_rad > told_apart)
            consider_turn(phase, rest, swings, before, now);
        if (chord_rad * per_rad > told_apart) consider(now.lag_rad, time_s, phase);
        if (time_s >= phase.duration_s || bound_rad * per_rad <= told_apart) break;
        before = now;
        bend = 0.0;
        for (std::size_t i = 0; i < rotor_modes_; ++i)
            bend += modes_[i].bend_shape * size[i];
    }
    consider(rotor_lag_rad(), phase.duration_s, phase);
}

/// The turning point of the lag between two samples, and the moment beside it at which the ratio turns.
void ModalScreen::consider_turn(const RatePhase& phase, const RestPoint& rest, const Swings& swings,
                                const Sample& before, const Sample& after) {
    const double offset_s = turning_point_s(rest, swings, before, after);
    const Lag peak = lag_after(rest, swings, after.time_s, offset_s);
    consider(peak.value_rad, after.time_s + offset_s, phase);
    const double beside_s = offset_s + ratio_shift_s(peak, after.time_s + offset_s, phase);
    if (beside_s != offset_s)
        consider(lag_after(rest, swings, after.time_s, beside_s).value_rad, after.time_s + beside_s,
                 phase);
}

void ModalScreen::consider(double lag_rad, double time_s, const RatePhase& phase) {
    if (time_s < 0.0 || time_s > phase.duration_s) return;
    const double rate_rad_s = phase.start_rate_rad_s + phase.acceleration_rad_s2 * time_s;
    const double torque_Nm = std::max(torque_.at(rate_rad_s), kNoTorque_Nm);
    const double ratio = magnetic_stiffness_Nm_rad_ * std::fabs(lag_rad) / torque_Nm;
    if (ratio <= move_.ratio) return;
    move_.ratio = ratio;
    move_.load_angle_rad = rotor_teeth_ * std::fabs(lag_rad);
    move_.peak_time_s = move_.duration_s + time_s;
    move_.peak_rate_rad_s = rate_rad_s;
}

double ModalScreen::rotor_lag_rad() const {
    double lag_rad = 0.0;
    for (std::size_t i = 0; i < rotor_modes_; ++i)
        lag_rad += modes_[i].rotor_shape * modes_[i].q;
    return lag_rad;
}

double ModalScreen::load_lag_rad() const {
    double lag_rad = 0.0;
    for (std::size_t i = 0; i < rotor_modes_; ++i)
        lag_rad += modes_[i].load_shape * modes_[i].q;
    return lag_rad;
}

double ModalScreen::ringing_m() const {
    double sum_m = 0.0;
    for (const Mode& mode : modes_) {
        const Swing swing = free_swing(mode, forcing(mode, rate_rad_s_, 0.0));
        sum_m += std::fabs(mode.tool_shape_m) * magnitude(swing.re, swing.im);
    }
    return sum_m;
}

MoveScreen ModalScreen::end_move() {
    if (ringing_ == Ringing::measured && !at_rest_) move_.ringing_m = ringing_m();
    move_.end_rate_rad_s = rate_rad_s_;
    move_begins_ = true;
    return std::exchange(move_, MoveScreen{});
}

}  // namespace stepper_sim
