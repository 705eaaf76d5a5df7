/// Random numbers for studies and generated inputs: the same on every library, whose distributions differ.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <random>

namespace stepper_sim::bench {

class Random {
  public:
    explicit Random(std::uint64_t seed) : engine_(seed) {}
    double between(double low, double high) {
        return low + (high - low) * (static_cast<double>(engine_() >> 11U) * 0x1p-53);
    }
    double between_logarithms(double low, double high) {
        return low * std::pow(high / low, between(0.0, 1.0));
    }
    /// Mean 0, deviation 1 (Box and Muller).
    double normal() {
        const double radius = std::sqrt(-2.0 * std::log(1.0 - between(0.0, 1.0)));
        return radius * std::cos(2.0 * std::numbers::pi * between(0.0, 1.0));
    }
    bool chance(double p) { return between(0.0, 1.0) < p; }
    template <class Values>
    const auto& pick(const Values& values) {
        return values[static_cast<std::size_t>(between(0.0, static_cast<double>(values.size())))];
    }

  private:
    std::mt19937_64 engine_;
};

}  // namespace stepper_sim::bench
