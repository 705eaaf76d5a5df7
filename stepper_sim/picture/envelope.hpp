/// Least and greatest of a signal over a program of unknown length: even stretches of time, merged in pairs whenever the record is
/// full, so that no peak is ever lost and memory stays bounded.
#pragma once

#include <cstddef>
#include <vector>

#include "stepper_sim/picture/recording.hpp"

namespace stepper_sim::picture {

class EnvelopeBuilder {
  public:
    static constexpr std::size_t kMostStretches = 2048;  // more than a wide screen has pixels

    /// The signal runs straight from `from` to `to` between two times; times do not decrease.
    void add(double begin_s, double end_s, double from, double to);
    /// What is never added counts as 0. Ends with the stretch that holds `end_s`.
    Envelope finish(double end_s);

  private:
    void halve();
    void note(std::size_t stretch, double value);

    double stretch_s_ = 1e-3;
    std::vector<double> least_, greatest_;
};

}  // namespace stepper_sim::picture
