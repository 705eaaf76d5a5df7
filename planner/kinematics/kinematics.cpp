#include "planner/kinematics/kinematics.hpp"

namespace planner {
namespace {

struct BeltSlots {
    bool crossed = false;
    std::size_t x = 0, y = 0;
};

BeltSlots belt_slots(Kinematics kinematics, const AxisSet& axes) {
    const int x = axes.slot('X');
    const int y = axes.slot('Y');
    if (kinematics != Kinematics::crossed_belt || x < 0 || y < 0) {
        return {};
    }
    return {true, static_cast<std::size_t>(x), static_cast<std::size_t>(y)};
}

}  // namespace

AxisArray to_motors(Kinematics kinematics, const AxisSet& axes, const AxisArray& tool) {
    AxisArray motors = tool;
    if (const auto [crossed, x, y] = belt_slots(kinematics, axes); crossed) {
        motors[x] = tool[x] + tool[y];
        motors[y] = tool[x] - tool[y];
    }
    return motors;
}

}  // namespace planner
