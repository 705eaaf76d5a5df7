#include "stepper_sim/limits/torque_bench.hpp"

#include <algorithm>
#include <utility>

#include "planner/units/units_text.hpp"

namespace stepper_sim::limits {

namespace {

using planner::AxisArray;
using planner::format_quantity;

constexpr double kRatingSlack = 1.005;  // settings rounded to a drive's steps

}  // namespace

double TorqueBench::asked_Nm(double speed_m_s, double acceleration_m_s2) const {
    const motor::MotorLoad& motor = loads.motors[slot];
    const auto index = static_cast<int>(slot);
    double most = 0.0;
    for (const double way : {1.0, -1.0}) {
        AxisArray v{};
        AxisArray a{};
        v[slot] = way * speed_m_s;
        a[slot] = way * acceleration_m_s2;
        most = std::max(most, motor::asked_Nm(loads, index, v, a));
        if (motor.share[1] == 0.0) continue;
        for (std::size_t i = 0; i < 2; ++i) {  // along the diagonal that turns this motor
            const double own = way * motor.motion[i];
            v[motor.axis[i]] = 0.5 * own * speed_m_s;
            a[motor.axis[i]] =
                own * (motor.axis[i] == slot
                           ? acceleration_m_s2
                           : machine.axes[motor.axis[i]].settings.max_acceleration.value());
        }
        most = std::max(most, motor::asked_Nm(loads, index, v, a));
    }
    return most;
}

TorqueBench torque_bench(machine::Machine machine, std::size_t slot, const machine::Axis& axis) {
    TorqueBench bench{std::move(machine), slot, {}, motor::available_torque(axis)};
    bench.machine.axes[slot] = axis;
    bench.loads = motor::motor_loads(bench.machine);
    return bench;
}

std::vector<std::string> ratings_broken(const machine::Axis& axis) {
    std::vector<std::string> out;
    const auto& selectable = axis.driver.microsteps;
    if (!selectable.empty() &&
        std::find(selectable.begin(), selectable.end(), axis.microsteps) == selectable.end()) {
        out.push_back(axis.driver.name + " has no setting of " + std::to_string(axis.microsteps) +
                      " microsteps");
    }
    if (axis.supply < axis.driver.supply_min || axis.supply > axis.driver.supply_max) {
        out.push_back(format_quantity(axis.supply) + " is outside the driver's " +
                      format_quantity(axis.driver.supply_min) + " to " +
                      format_quantity(axis.driver.supply_max));
    }
    if (axis.motor.max_supply && axis.supply > *axis.motor.max_supply) {
        out.push_back(format_quantity(axis.supply) + " is above the motor's " +
                      format_quantity(*axis.motor.max_supply));
    }
    const auto driver_max = axis.driver.current_max;
    if (driver_max && axis.current.peak() > driver_max->peak() * kRatingSlack) {
        out.push_back(format_quantity(axis.current.peak(), 3) + " peak is above the driver's " +
                      format_quantity(driver_max->peak(), 3) + " peak");
    }
    if (axis.current.peak() > axis.motor.rated_current.peak() * kRatingSlack) {
        out.push_back(format_quantity(axis.current.rms(), 3) + " RMS is above the motor's rated " +
                      format_quantity(axis.motor.rated_current.rms(), 3) + " RMS");
    }
    return out;
}

}  // namespace stepper_sim::limits
