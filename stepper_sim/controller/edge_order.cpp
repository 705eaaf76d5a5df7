#include "stepper_sim/controller/edge_order.hpp"

#include <algorithm>
#include <cstdint>
#include <limits>

namespace stepper_sim::controller {
namespace {

constexpr std::size_t kBatch = 4096;

int rank(EdgeKind kind) {
    switch (kind) {
        case EdgeKind::direction:
            return 0;
        case EdgeKind::step_fall:
            return 1;
        case EdgeKind::step_rise:
            break;
    }
    return 2;
}

bool before(const Edge& a, const Edge& b) {
    if (a.tick != b.tick) return a.tick < b.tick;
    if (a.kind != b.kind) return rank(a.kind) < rank(b.kind);
    return a.motor < b.motor;
}

}  // namespace

void EdgeOrder::add(const Edge& edge) {
    held_.insert(std::upper_bound(held_.begin(), held_.end(), edge, before), edge);
}

void EdgeOrder::settle(std::int64_t tick) {
    auto ready = held_.begin();
    while (ready != held_.end() && ready->tick < tick)
        ++ready;
    if (ready == held_.begin()) return;
    batch_.insert(batch_.end(), held_.begin(), ready);
    held_.erase(held_.begin(), ready);
    if (batch_.size() < kBatch) return;
    sink_->take(batch_);
    batch_.clear();
}

void EdgeOrder::finish() {
    if (!wanted()) return;
    settle(std::numeric_limits<std::int64_t>::max());
    if (!batch_.empty()) sink_->take(batch_);
    batch_.clear();
}

}  // namespace stepper_sim::controller
