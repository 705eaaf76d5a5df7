#include "stepper_sim/dynamics/spread.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace stepper_sim::dynamics {
namespace {

/// SplitMix64 (G. Steele, D. Lea, C. Flood, OOPSLA 2014; from memory): the library's distributions
/// differ between compilers.
class Random {
  public:
    explicit Random(std::uint64_t seed) : state_(seed) {}

    /// Even in [low, high).
    double between(double low, double high) { return low + (high - low) * unit(); }
    double between_logarithms(double low, double high) {
        return low * std::pow(high / low, unit());
    }

  private:
    double unit() { return static_cast<double>(next() >> 11U) * 0x1p-53; }
    std::uint64_t next() {
        state_ += 0x9E3779B97F4A7C15ULL;
        std::uint64_t z = state_;
        z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
        return z ^ (z >> 31U);
    }

    std::uint64_t state_;
};

constexpr std::uint64_t kDrawStride = 0xD1342543DE82EF95ULL;  // odd: every draw starts elsewhere

}  // namespace

AxisDynamics draw_axis(const AxisDynamics& axis, const Spread& spread, std::uint64_t seed,
                       std::uint64_t draw) {
    Random random(seed + draw * kDrawStride);
    const auto share = [&random](double s) { return random.between(1.0 - s, 1.0 + s); };
    AxisDynamics drawn = axis;
    drawn.coulomb_Nm *= share(spread.friction_share);
    drawn.load_inertia_kg_m2 *= share(spread.mass_share);
    drawn.stiffness_Nm_rad *=
        random.between_logarithms(spread.stiffness_low_factor, spread.stiffness_high_factor);
    drawn.supply_V *= random.between(1.0 - spread.supply_sag_share, 1.0);
    drawn.rotor_viscous_Nms_rad *=
        random.between_logarithms(1.0 / spread.viscous_factor, spread.viscous_factor);
    drawn.coupling_damping_Nms_rad *=
        random.between_logarithms(spread.damping_low_factor, spread.damping_high_factor);
    drawn.torque_factor *= random.between(spread.torque_low_factor, spread.torque_high_factor);
    return drawn;
}

double slip_likelihood(std::span<const WindowRun> motors, const Spread& spread, int draws,
                       std::uint64_t seed) {
    std::vector<AxisDynamics> axes;
    std::vector<WindowRun> runs;
    axes.reserve(static_cast<std::size_t>(draws) * motors.size());
    for (int i = 0; i < draws; ++i)
        for (std::size_t m = 0; m < motors.size(); ++m) {
            axes.push_back(draw_axis(*motors[m].axis, spread, seed, static_cast<std::uint64_t>(i)));
            runs.push_back(motors[m]);
            runs.back().axis = &axes.back();
        }
    std::vector<WindowOutcome> outcomes(runs.size());
    simulate(runs, outcomes);
    int slips = 0;
    for (std::size_t i = 0; i < outcomes.size(); i += motors.size()) {
        bool slipped = false;
        for (std::size_t m = 0; m < motors.size(); ++m)
            slipped = slipped || outcomes[i + m].slipped();
        slips += slipped;
    }
    return static_cast<double>(slips) / draws;
}

}  // namespace stepper_sim::dynamics
