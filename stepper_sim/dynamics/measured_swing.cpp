#include "stepper_sim/dynamics/measured_swing.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <span>
#include <utility>

#include "stepper_sim/dynamics/full_model.hpp"

namespace stepper_sim::dynamics {
namespace {

constexpr double kTurn_rad = 2.0 * std::numbers::pi;
constexpr double kLongestLook_s = 1.0;  // a longer move swings most as it begins
constexpr std::size_t kParts = 4;       // of a period: the largest and the least of each are kept

/// The largest swing within any period, a quarter of one apart.
class Swing {
  public:
    Swing(double period_s, double step_s)
        : part_steps_(std::max(1L, std::lround(period_s / step_s / kParts))) {}

    void add(double off_rad) {
        Part& part = parts_[now_];
        part.least = std::min(part.least, off_rad);
        part.most = std::max(part.most, off_rad);
        if (++steps_ % part_steps_ != 0) return;
        Part whole;
        for (const Part& p : parts_) {
            whole.least = std::min(whole.least, p.least);
            whole.most = std::max(whole.most, p.most);
        }
        amplitude_rad = std::max(amplitude_rad, 0.5 * (whole.most - whole.least));
        now_ = (now_ + 1) % kParts;
        parts_[now_] = {};
    }

    double amplitude_rad = 0.0;

  private:
    struct Part {
        double least = std::numeric_limits<double>::infinity();
        double most = -std::numeric_limits<double>::infinity();
    };
    long part_steps_, steps_ = 0;
    std::size_t now_ = 0;
    std::array<Part, kParts> parts_{};
};

double duration_s(std::span<const RatePhase> phases) {
    double sum_s = 0.0;
    for (const RatePhase& phase : phases)
        sum_s += phase.duration_s;
    return sum_s;
}

/// A cruise of an hour has a pulse for every step of it: none is wanted past the end.
void cut_after(double end_s, std::vector<RatePhase>& phases) {
    double begin_s = 0.0;
    std::size_t kept = 0;
    for (; kept < phases.size() && begin_s < end_s; ++kept) {
        phases[kept].duration_s = std::min(phases[kept].duration_s, end_s - begin_s);
        begin_s += phases[kept].duration_s;
    }
    phases.resize(kept);
}

}  // namespace

void StretchKeeper::add(const RatePhase& phase) {
    recent_.push_back(phase);
    recent_s_ += phase.duration_s;
    for (Marked& marked : marked_)
        if (marked.ago_s >= 0.0) marked.ago_s += phase.duration_s;
}

void StretchKeeper::end_move() {
    double wanted_s = kSwingBefore_s;
    for (Marked& marked : marked_) {
        if (marked.ago_s >= marked.lasts_s + kSwingAfter_s) keep(marked);
        wanted_s = std::max(wanted_s, kSwingBefore_s + marked.ago_s);
    }
    while (recent_s_ - recent_.front().duration_s > wanted_s) {
        recent_s_ -= recent_.front().duration_s;
        recent_.pop_front();
    }
}

void StretchKeeper::mark(Kind kind, double ago_s, double lasts_s) {
    Marked& marked = marked_[static_cast<std::size_t>(kind)];
    marked.ago_s = std::max(ago_s, 0.0);
    marked.lasts_s = std::min(lasts_s, kLongestLook_s);
}

void StretchKeeper::keep(Marked& marked) const {
    SwingStretch& stretch = marked.stretch;
    stretch.phases.assign(recent_.begin(), recent_.end());
    double moment_s = duration_s(stretch.phases) - std::exchange(marked.ago_s, -1.0);
    RatePhase& first = stretch.phases.front();
    const double early_s = std::min(moment_s - kSwingBefore_s, first.duration_s);
    if (early_s > 0.0) {
        first.start_rate_rad_s += first.acceleration_rad_s2 * early_s;
        first.duration_s -= early_s;
        moment_s -= early_s;
    }
    stretch.look_from_s = moment_s - kSwingAfter_s;
    stretch.look_to_s = moment_s + marked.lasts_s + kSwingAfter_s;
    cut_after(stretch.look_to_s, stretch.phases);
}

SwingStretch StretchKeeper::take(Kind kind) {
    Marked& marked = marked_[static_cast<std::size_t>(kind)];
    if (marked.ago_s >= 0.0) keep(marked);
    return std::exchange(marked.stretch, {});
}

MeasuredSwing measure_swing(const AxisDynamics& axis, const SwingStretch& stretch) {
    const auto edges = ideal_edges(stretch.phases, microstep_angle_rad(axis));
    WindowRun run;
    run.axis = &axis;
    run.edges = edges;
    run.duration_s = stretch.look_to_s;
    run.start_rate_rad_s = stretch.phases.front().start_rate_rad_s;
    for (const RatePhase& phase : stretch.phases)
        run.top_rate_rad_s = std::max({run.top_rate_rad_s, std::fabs(phase.start_rate_rad_s),
                                       std::fabs(phase.end_rate_rad_s())});
    const double step_s = integration_step_s(axis, run.top_rate_rad_s);
    Swing swing(kTurn_rad / vibration_modes(axis).mode[0].rate_rad_s, step_s);
    MeasuredSwing measured;
    for_each_state(run, step_s, [&](const MotorState& state) {
        if (std::fabs(state.lag_rad) >= kTurn_rad) measured.lost = true;
        if (state.time_s < stretch.look_from_s) return;
        measured.load_angle_rad = std::max(measured.load_angle_rad, std::fabs(state.lag_rad));
        const double command_rad = state.rotor_angle_rad + state.lag_rad / axis.rotor_teeth;
        swing.add(state.load_angle_rad - command_rad);
    });
    measured.amplitude_rad = swing.amplitude_rad;
    return measured;
}

}  // namespace stepper_sim::dynamics
