/// A move with the speeds the look-ahead gave it, and the limits that planning obeys.
#pragma once

#include <cstdint>
#include <limits>

#include "planner/path/move.hpp"

namespace planner {

enum class CornerRule : std::uint8_t { speed_step, deviation };  // rows of corner.hpp

/// Limits of one machine, per axis slot.
struct PlanLimits {
    int axis_count = 0;
    AxisArray max_speed_m_s{};
    AxisArray max_acceleration_m_s2{};
    AxisArray speed_step_m_s{};  // largest instantaneous change of an axis's speed at a corner
    double path_acceleration_m_s2 = std::numeric_limits<double>::infinity();
    CornerRule corner = CornerRule::speed_step;
    double deviation_m = 0.0;  // for CornerRule::deviation: how far rounding may leave a corner
    int window_moves = 0;      // moves the controller looks ahead, itself included; 0: unlimited
};

struct PlannedMove {
    Move move;
    double nominal_speed_m_s = 0.0;  // highest speed the limits and the feed allow along this move
    double acceleration_m_s2 = 0.0;  // along the path
    double entry_speed_m_s = 0.0;
    double exit_speed_m_s = 0.0;
};

}  // namespace planner
