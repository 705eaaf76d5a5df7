/// Puts edges that become known slightly out of order (falls and direction edges) into time order
/// and hands them on in batches. Without a sink it does nothing.
#pragma once

#include <vector>

#include "stepper_sim/controller/edge.hpp"

namespace stepper_sim::controller {

class EdgeOrder {
  public:
    explicit EdgeOrder(EdgeSink* sink) : sink_(sink) {}

    bool wanted() const { return sink_ != nullptr; }
    void add(const Edge& edge);
    /// No edge before `tick` will be added any more.
    void settle(std::int64_t tick);
    void finish();

  private:
    EdgeSink* sink_;
    std::vector<Edge> held_;  // sorted; short: what lies within a pulse and a set-up time of now
    std::vector<Edge> batch_;
};

}  // namespace stepper_sim::controller
