/// The four conversions between a straight line and a shaft. Boost treats the radian as a base
/// dimension, so force times radius is not a torque there; these functions are the only place that
/// steps over it. Formula: T = F r; F = T / r; v = w r; w = v / r. Symbols: T = torque [N m], F =
/// force [N], r = radius [m], w = shaft speed [rad/s], v = belt or nut speed [m/s] Valid:   r > 0
#pragma once

#include "planner/units/units.hpp"

namespace planner {

constexpr Torque torque_from(Force force, Length arm) {
    return from_si<Torque>(force.value() * arm.value());
}
constexpr Force force_from(Torque torque, Length arm) {
    return from_si<Force>(torque.value() / arm.value());
}
constexpr Speed speed_from(AngularSpeed rate, Length radius) {
    return from_si<Speed>(rate.value() * radius.value());
}
constexpr AngularSpeed rate_from(Speed speed, Length radius) {
    return from_si<AngularSpeed>(speed.value() / radius.value());
}

}  // namespace planner
