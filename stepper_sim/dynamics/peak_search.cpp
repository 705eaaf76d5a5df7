#include "stepper_sim/dynamics/peak_search.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace stepper_sim::dynamics {
namespace {

constexpr double kNoTorque_Nm =
    1e-12;  // below this the motor makes nothing: the ratio grows without bound
// Of the fastest mode. Two turning points seldom hide in one step: in 60,000 random cases of ModalScreen.FindsThePeakInsideAPhase no peak was missed by more
// than 0.25 %.
constexpr double kSearchStepsPerHalfTurn = 4.0;
// A curve leaves its chord by at most this times bend times step squared.
constexpr double kChordShare = 0.125;
constexpr int kNewtonSteps = 4;  // one is usual
// Of a search step, which is 0.8 rad of the fastest mode: the cubic from there misses the peak by 2e-10 of the swing.
constexpr double kNearTurn = 1e-2;

/// A cubic on 0 to 1 through values and gradients at both ends.
struct Cubic {
    double value0, gradient0, square, cube;

    Cubic(double v0, double g0, double v1, double g1)
        : value0(v0),
          gradient0(g0),
          square(3.0 * (v1 - v0) - 2.0 * g0 - g1),
          cube(g0 + g1 - 2.0 * (v1 - v0)) {}
    double at(double x) const { return value0 + x * (gradient0 + x * (square + x * cube)); }
    double gradient(double x) const { return gradient0 + x * (2.0 * square + x * 3.0 * cube); }
    /// The values at the ends differ in sign.
    double root() const {
        const double secant = -value0 / (gradient0 + square + cube);
        const double newton = secant - at(secant) / gradient(secant);
        return newton >= 0.0 && newton <= 1.0 ? newton : secant;
    }
};

Pair magnitudes(const Pair& x) {
    return Pair{std::fabs(x[0]), std::fabs(x[1])};
}

}  // namespace

PeakSearch::PeakSearch(const RotorModes& modes, double magnetic_stiffness_Nm_rad,
                       TorqueTable torque)
    : modes_(modes),
      lag_shape_(magnitudes(modes.shape)),
      magnetic_stiffness_Nm_rad_(magnetic_stiffness_Nm_rad),
      rad_per_Nm_(1.0 / magnetic_stiffness_Nm_rad),
      torque_(std::move(torque)) {
    const double fastest_rad_s = std::max(modes.damped_rate_rad_s[0], modes.damped_rate_rad_s[1]);
    step_s_ = std::numbers::pi / (kSearchStepsPerHalfTurn * fastest_rad_s);
    bend_shape_s2_ = kChordShare * step_s_ * step_s_ * lag_shape_ * modes.rate2;
    const auto decay_over = [&](double time_s) {
        return Pair{std::exp(-modes_.decay_1_s[0] * time_s),
                    std::exp(-modes_.decay_1_s[1] * time_s)};
    };
    for (std::size_t k = 0; k < kSamples; ++k) {
        times_s_[k / 2][k % 2] = static_cast<double>(k) * step_s_;
        turns_[k] =
            turn_over(modes.decay_1_s, modes.damped_rate_rad_s, static_cast<double>(k) * step_s_);
    }
    row_turn_ = turn_over(modes.decay_1_s, modes.damped_rate_rad_s, kSamples * step_s_);
    last_decay_ = decay_over((kSamples - 1) * step_s_);
    row_decay_ = decay_over(kSamples * step_s_);
    back_turn_ = turn_over(modes.decay_1_s, modes.damped_rate_rad_s, -step_s_);
    set_weights(0);
    set_weights(1);
}

void PeakSearch::set_weights(std::size_t mode) {
    const double shape = modes_.shape[mode], decay_1_s = modes_.decay_1_s[mode],
                 rate_rad_s = modes_.damped_rate_rad_s[mode];
    for (std::size_t k = 0; k < kSamples; ++k) {
        Weights& w = weights_[k / 2][mode];
        const double cos = turns_[k].cos[mode], sin = turns_[k].sin[mode];
        w.lag_re[k % 2] = shape * cos;
        w.lag_im[k % 2] = -shape * sin;
        w.slope_re[k % 2] = -shape * (decay_1_s * cos + rate_rad_s * sin);
        w.slope_im[k % 2] = shape * (decay_1_s * sin - rate_rad_s * cos);
    }
}

double PeakSearch::rad_per_ratio(double fastest_rad_s) const {
    return std::max(torque_.floor(fastest_rad_s), kNoTorque_Nm) * rad_per_Nm_;
}

void PeakSearch::consider(const LagCourse& course, double lag_rad, double time_s,
                          LagPeak& best) const {
    const RatePhase& phase = course.phase;
    if (time_s < 0.0 || time_s > phase.duration_s) return;
    const double rate_rad_s = phase.start_rate_rad_s + phase.acceleration_rad_s2 * time_s;
    const double torque_Nm = std::max(torque_.at(rate_rad_s), kNoTorque_Nm);
    const double ratio = magnetic_stiffness_Nm_rad_ * std::fabs(lag_rad) / torque_Nm;
    if (ratio > best.ratio)
        best = {ratio, std::fabs(lag_rad), course.since_move_s + time_s, rate_rad_s};
}

PeakSearch::Lag PeakSearch::lag_at(const LagCourse& course, const Swing& swing,
                                   double time_s) const {
    const Pair slope = -modes_.decay_1_s * swing.re - modes_.damped_rate_rad_s * swing.im;
    const Pair curvature = -2.0 * modes_.decay_1_s * slope - modes_.rate2 * swing.re;
    const Pair rise = -2.0 * modes_.decay_1_s * curvature - modes_.rate2 * slope;
    return {course.rest_rad + course.rest_slope * time_s + sum_of(modes_.shape * swing.re),
            course.rest_slope + sum_of(modes_.shape * slope), sum_of(modes_.shape * curvature),
            sum_of(modes_.shape * rise)};
}

Swing PeakSearch::swing_after(const Swing& swing, double time_s) const {
    return turned(swing, turn_over(modes_.decay_1_s, modes_.damped_rate_rad_s, time_s));
}

/// Of the torque available, relative to it, as the command speeds up or slows down.
double PeakSearch::torque_rise_1_s(const RatePhase& phase, double time_s) const {
    if (phase.acceleration_rad_s2 == 0.0) return 0.0;
    const double rate_rad_s = phase.start_rate_rad_s + phase.acceleration_rad_s2 * time_s;
    const double aside_rad_s = 0.25 * step_s_ * phase.acceleration_rad_s2;
    const double rise_Nm =
        torque_.at(rate_rad_s + aside_rad_s) - torque_.at(rate_rad_s - aside_rad_s);
    return rise_Nm / (0.5 * step_s_ * std::max(torque_.at(rate_rad_s), kNoTorque_Nm));
}

/// From here to where lag over torque turns; nothing where the lag bends outwards.
double PeakSearch::way_to_turn_s(const Lag& lag, double torque_rise_1_s) const {
    const double slope = lag.slope - torque_rise_1_s * lag.value_rad;
    if (!(lag.curvature * lag.value_rad < 0.0)) return 0.0;
    return std::clamp(-slope / lag.curvature, -step_s_, step_s_);
}

/// The turning point of lag over torque beside that of the lag in the step before a sample: Newton, from where the cubic through the
/// slopes at both ends is zero.
void PeakSearch::consider_turn(const LagCourse& course, const Swing& swing, double time_s,
                               LagPeak& best) const {
    const Lag after = lag_at(course, swing, time_s);
    const Lag before = lag_at(course, turned(swing, back_turn_), time_s - step_s_);
    const Cubic cubic(before.slope, step_s_ * before.curvature, after.slope,
                      step_s_ * after.curvature);
    const double root = cubic.root();
    const double torque_rise_1_s =
        this->torque_rise_1_s(course.phase, time_s + (root - 1.0) * step_s_);
    const Lag start{root > 0.5 ? after.value_rad : before.value_rad, 0.0,
                    cubic.gradient(root) / step_s_, 0.0};
    double offset_s = (root - 1.0) * step_s_ + way_to_turn_s(start, torque_rise_1_s);
    Lag lag{};
    for (int i = 0; i < kNewtonSteps; ++i) {
        lag = lag_at(course, swing_after(swing, offset_s), time_s + offset_s);
        const double way_s = way_to_turn_s(lag, torque_rise_1_s);
        offset_s += way_s;
        lag.value_rad +=
            way_s * (lag.slope + way_s * (lag.curvature / 2.0 + way_s * lag.rise / 6.0));
        if (std::fabs(way_s) < kNearTurn * step_s_) break;
    }
    consider(course, lag.value_rad, time_s + offset_s, best);
}

/// The search of one phase, a row of samples at a time.
class PeakSearch::Run {
  public:
    Run(const PeakSearch& search, const LagCourse& course, double floor, LagPeak& best)
        : s_(search), course_(course), floor_(floor), best_(best), swing_(course.swing) {}

    void rows();

  private:
    double told_apart() const { return std::max(best_.ratio, floor_); }
    double row_rad_per_ratio() const;
    void sample();
    void examine();
    std::size_t largest() const;
    double sample_s(std::size_t k) const { return time_s_ + s_.times_s_[k / 2][k % 2]; }
    void consider_sample(std::size_t k) {
        s_.consider(course_, lag_rad_[k / 2][k % 2], sample_s(k), best_);
    }
    bool reaches(double lag_rad) const;

    const PeakSearch& s_;
    const LagCourse& course_;
    double floor_;
    LagPeak& best_;
    Swing swing_;                                   // at the first sample of the row
    double time_s_ = 0.0;                           // of the first sample
    double rad_per_ratio_ = 0.0;                    // at any speed of the phase
    double arc_rad_ = 0.0;                          // the lag may leave its chord by this much
    double last_lag_rad_ = 0.0, last_slope_ = 0.0;  // before the row
    Samples lag_rad_{}, slope_{};
};

void PeakSearch::Run::sample() {
    last_lag_rad_ = lag_rad_[kPairs - 1][1];
    last_slope_ = slope_[kPairs - 1][1];
    for (std::size_t p = 0; p < kPairs; ++p) {
        Pair lag_rad = course_.rest_rad + course_.rest_slope * (time_s_ + s_.times_s_[p]);
        Pair slope = Pair{} + course_.rest_slope;
        for (std::size_t mode = 0; mode < 2; ++mode) {
            const Weights& w = s_.weights_[p][mode];
            lag_rad += swing_.re[mode] * w.lag_re + swing_.im[mode] * w.lag_im;
            slope += swing_.re[mode] * w.slope_re + swing_.im[mode] * w.slope_im;
        }
        lag_rad_[p] = lag_rad;
        slope_[p] = slope;
    }
}

/// At the speeds of this row and of the turning points of its steps.
double PeakSearch::Run::row_rad_per_ratio() const {
    const RatePhase& phase = course_.phase;
    const double until_s =
        std::min(time_s_ + static_cast<double>(kSamples) * s_.step_s_, phase.duration_s);
    const double from_s = std::max(time_s_ - 2.0 * s_.step_s_, 0.0);
    return s_.rad_per_ratio(
        std::max(std::fabs(phase.start_rate_rad_s + phase.acceleration_rad_s2 * from_s),
                 std::fabs(phase.start_rate_rad_s + phase.acceleration_rad_s2 * until_s)));
}

std::size_t PeakSearch::Run::largest() const {
    std::size_t largest = 0;
    for (std::size_t k = 1; k < kSamples; ++k)
        if (std::fabs(lag_rad_[k / 2][k % 2]) > std::fabs(lag_rad_[largest / 2][largest % 2]))
            largest = k;
    return largest;
}

bool PeakSearch::Run::reaches(double lag_rad) const {
    PairBits reached = (Pair{} + last_lag_rad_ > lag_rad) | (Pair{} + last_lag_rad_ < -lag_rad);
    for (const Pair& lag : lag_rad_)
        reached |= (lag > lag_rad) | (lag < -lag_rad);
    return (reached[0] | reached[1]) != 0;
}

void PeakSearch::Run::examine() {
    if (!reaches(told_apart() * rad_per_ratio_ - arc_rad_)) return;
    const RatePhase& phase = course_.phase;
    // At a steady speed the largest ratio is at a turning point of the lag or at an end of the phase.
    const bool steady = phase.acceleration_rad_s2 == 0.0;
    const double rad_per_ratio = steady ? rad_per_ratio_ : row_rad_per_ratio();
    // The largest first: the others then mostly need no look.
    const std::size_t first = steady ? 0 : largest();
    if (!steady || time_s_ == 0.0) consider_sample(first);
    double lag_before_rad = last_lag_rad_, slope_before = last_slope_;
    for (std::size_t k = 0; k < kSamples; ++k) {
        const double lag_rad = lag_rad_[k / 2][k % 2], slope = slope_[k / 2][k % 2];
        const double chord_rad = std::max(std::fabs(lag_rad), std::fabs(lag_before_rad));
        if (slope * slope_before < 0.0 && chord_rad + arc_rad_ > told_apart() * rad_per_ratio)
            s_.consider_turn(course_, turned(swing_, s_.turns_[k]), sample_s(k), best_);
        if (!steady && k != first && std::fabs(lag_rad) > told_apart() * rad_per_ratio)
            consider_sample(k);
        if (sample_s(k) >= phase.duration_s) return;
        lag_before_rad = lag_rad;
        slope_before = slope;
    }
}

void PeakSearch::Run::rows() {
    const RatePhase& phase = course_.phase;
    rad_per_ratio_ = s_.rad_per_ratio(
        std::max(std::fabs(phase.start_rate_rad_s), std::fabs(phase.end_rate_rad_s())));
    const double rest_rad =
        std::max(std::fabs(course_.rest_rad),
                 std::fabs(course_.rest_rad + course_.rest_slope * phase.duration_s));
    // How far the lag may be from its rest point, and how much it may bend: both only decay.
    Pair size = amplitude(swing_);
    if (rest_rad + sum_of(s_.lag_shape_ * size) <= floor_ * rad_per_ratio_) return;
    arc_rad_ = sum_of(s_.bend_shape_s2_ * size);
    for (;; time_s_ += static_cast<double>(kSamples) * s_.step_s_) {
        sample();
        examine();
        if (time_s_ + s_.times_s_[kPairs - 1][1] >= phase.duration_s) break;
        const Pair last_size = s_.last_decay_ * size;
        if (rest_rad + sum_of(s_.lag_shape_ * last_size) <= told_apart() * rad_per_ratio_) break;
        arc_rad_ = sum_of(s_.bend_shape_s2_ * last_size);
        size *= s_.row_decay_;
        swing_ = turned(swing_, s_.row_turn_);
    }
    s_.consider(course_, course_.end_rad, phase.duration_s, best_);
}

void PeakSearch::search(const LagCourse& course, double floor, LagPeak& best) const {
    Run(*this, course, floor, best).rows();
}

}  // namespace stepper_sim::dynamics
