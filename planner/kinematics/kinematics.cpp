#include "planner/kinematics/kinematics.hpp"

#include <algorithm>

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

MotorMatrix motor_matrix(Kinematics kinematics, const AxisSet& axes) {
    MotorMatrix matrix{};
    const auto count = static_cast<std::size_t>(axes.count());
    for (std::size_t axis = 0; axis < count; ++axis) {
        AxisArray metre{};
        metre[axis] = 1.0;
        const AxisArray motors = to_motors(kinematics, axes, metre);
        for (std::size_t motor = 0; motor < count; ++motor) {
            matrix[motor][axis] = motors[motor];
        }
    }
    return matrix;
}

std::vector<std::vector<std::size_t>> motor_groups(Kinematics kinematics, const AxisSet& axes) {
    const MotorMatrix matrix = motor_matrix(kinematics, axes);
    const auto meet = [&](std::size_t a, std::size_t b) {
        return std::ranges::any_of(
            matrix, [&](const AxisArray& motor) { return motor[a] != 0.0 && motor[b] != 0.0; });
    };
    std::vector<std::vector<std::size_t>> groups;
    for (std::size_t slot = 0; slot < static_cast<std::size_t>(axes.count()); ++slot) {
        const auto group = std::ranges::find_if(
            groups, [&](const auto& slots) { return meet(slots.front(), slot); });
        const bool forwards =
            std::ranges::all_of(matrix, [&](const AxisArray& motor) { return motor[slot] >= 0.0; });
        if (group == groups.end()) {
            groups.push_back({slot});
        } else {
            group->insert(forwards ? group->begin() : group->end(), slot);
        }
    }
    return groups;
}

std::vector<std::size_t> motor_group(Kinematics kinematics, const AxisSet& axes, std::size_t slot) {
    for (const std::vector<std::size_t>& group : motor_groups(kinematics, axes)) {
        if (std::ranges::find(group, slot) != group.end()) {
            return group;
        }
    }
    return {slot};
}

bool shares_motors(Kinematics kinematics, const AxisSet& axes) {
    return std::ranges::any_of(motor_groups(kinematics, axes),
                               [](const auto& group) { return group.size() > 1; });
}

}  // namespace planner
