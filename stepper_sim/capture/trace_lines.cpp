#include "stepper_sim/capture/trace_lines.hpp"

#include <numeric>

namespace stepper_sim::capture {
namespace {

constexpr std::int64_t kNanoseconds_hz = 1'000'000'000;

std::string line_name(char letter, const char* ending) {
    return planner::axis_key(letter) + ending;
}

}  // namespace

std::string step_line_name(char letter) {
    return line_name(letter, "_step");
}

std::string direction_line_name(char letter) {
    return line_name(letter, "_dir");
}

std::int64_t decimal_unit_hz(std::int64_t tick_hz) {
    for (std::int64_t unit_hz = 1; unit_hz <= kNanoseconds_hz; unit_hz *= 10) {
        if (unit_hz % tick_hz == 0) return unit_hz;
    }
    std::int64_t unit_hz = 1;
    while (unit_hz < tick_hz && unit_hz < kNanoseconds_hz)
        unit_hz *= 10;
    return unit_hz;
}

UnitClock::UnitClock(std::int64_t tick_hz, std::int64_t unit_hz) {
    const std::int64_t common = std::gcd(tick_hz, unit_hz);
    numerator_ = unit_hz / common;
    denominator_ = tick_hz / common;
}

std::int64_t UnitClock::units(std::int64_t tick) const {
    const std::int64_t whole = tick / denominator_, rest = tick % denominator_;
    const double part = static_cast<double>(rest) * static_cast<double>(numerator_) /
                        static_cast<double>(denominator_);
    return whole * numerator_ + static_cast<std::int64_t>(part + (part < 0.0 ? -0.5 : 0.5));
}

void EdgeWindow::open() {
    open_ = true;
    for (std::size_t m = 0; m < before_.size(); ++m) {
        if (before_[m] < 0) {
            batch_.push_back({from_, 0, static_cast<std::uint8_t>(m),
                              controller::EdgeKind::direction, before_[m]});
        }
    }
}

void EdgeWindow::take(std::span<const controller::Edge> edges) {
    batch_.clear();
    for (const controller::Edge& edge : edges) {
        if (edge.tick < from_) {
            if (edge.kind == controller::EdgeKind::direction) before_[edge.motor] = edge.direction;
            continue;
        }
        if (!open_) open();
        bool& high = high_[edge.motor];
        const bool inside = edge.tick < to_;
        if (edge.kind == controller::EdgeKind::step_fall ? high : inside) batch_.push_back(edge);
        if (edge.kind == controller::EdgeKind::step_rise) high = inside;
        if (edge.kind == controller::EdgeKind::step_fall) high = false;
    }
    if (!batch_.empty()) next_.take(batch_);
}

}  // namespace stepper_sim::capture
