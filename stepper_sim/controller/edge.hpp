/// Edges of the step and direction lines in controller ticks: what leaves the pins. Exports,
/// captures and the full model read these.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace stepper_sim::controller {

enum class EdgeKind : std::uint8_t { step_rise, step_fall, direction };

struct Edge {
    std::int64_t tick = 0;   // since the program began
    std::uint64_t line = 0;  // program line that caused it
    std::uint8_t motor = 0;  // motor slot
    EdgeKind kind = EdgeKind::step_rise;
    std::int8_t direction =
        1;  // of the motor from this edge on: 1 counts up, -1 down; every line starts with 1
};

/// Receives edges in time order (equal ticks: direction, then fall, then rise), in batches.
class EdgeSink {
  public:
    virtual ~EdgeSink() = default;
    virtual void take(std::span<const Edge> edges) = 0;
};

/// Keeps all edges: for tests and short windows.
class EdgeList final : public EdgeSink {
  public:
    void take(std::span<const Edge> batch) override {
        edges.insert(edges.end(), batch.begin(), batch.end());
    }
    std::vector<Edge> edges;
};

}  // namespace stepper_sim::controller
