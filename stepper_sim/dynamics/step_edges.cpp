#include "stepper_sim/dynamics/step_edges.hpp"

#include <cmath>

namespace stepper_sim::dynamics {
namespace {

/// Edges of a stretch that does not turn round; `angle_rad` is its start, `count` the microsteps
/// sent so far.
class Stretch {
  public:
    Stretch(double step_rad, std::vector<StepEdge>& edges) : step_rad_(step_rad), edges_(edges) {}

    void run(double duration_s, double rate_rad_s, double accel_rad_s2) {
        const double travel_rad =
            rate_rad_s * duration_s + 0.5 * accel_rad_s2 * duration_s * duration_s;
        const int direction = travel_rad > 0.0 ? 1 : -1;
        const double end_rad = angle_rad_ + travel_rad;
        for (;;) {
            const double edge_rad = (static_cast<double>(count_) + 0.5 * direction) * step_rad_;
            if (direction > 0 ? edge_rad > end_rad : edge_rad < end_rad) break;
            const double to_go_rad = std::fabs(edge_rad - angle_rad_);
            const double speed = std::fabs(rate_rad_s);
            const double along = rate_rad_s == 0.0 ? std::fabs(accel_rad_s2)
                                                   : accel_rad_s2 * (rate_rad_s > 0.0 ? 1.0 : -1.0);
            const double root = std::sqrt(std::fmax(speed * speed + 2.0 * along * to_go_rad, 0.0));
            const double after_s = speed + root > 0.0 ? 2.0 * to_go_rad / (speed + root) : 0.0;
            const double edge_s = start_s_ + std::fmin(after_s, duration_s);
            edges_.push_back(
                {edges_.empty() ? edge_s : std::fmax(edge_s, edges_.back().time_s), direction});
            count_ += direction;
        }
        angle_rad_ = end_rad;
        start_s_ += duration_s;
    }

  private:
    double step_rad_;
    std::vector<StepEdge>& edges_;
    double angle_rad_ = 0.0, start_s_ = 0.0;
    long long count_ = 0;
};

}  // namespace

std::vector<StepEdge> ideal_edges(std::span<const RatePhase> phases, double microstep_angle_rad) {
    std::vector<StepEdge> edges;
    Stretch stretch(microstep_angle_rad, edges);
    for (const RatePhase& phase : phases) {
        if (!(phase.duration_s > 0.0)) continue;
        const double turn_s = phase.acceleration_rad_s2 == 0.0
                                  ? -1.0
                                  : -phase.start_rate_rad_s / phase.acceleration_rad_s2;
        if (turn_s > 0.0 && turn_s < phase.duration_s) {
            stretch.run(turn_s, phase.start_rate_rad_s, phase.acceleration_rad_s2);
            stretch.run(phase.duration_s - turn_s, 0.0, phase.acceleration_rad_s2);
        } else {
            stretch.run(phase.duration_s, phase.start_rate_rad_s, phase.acceleration_rad_s2);
        }
    }
    return edges;
}

}  // namespace stepper_sim::dynamics
