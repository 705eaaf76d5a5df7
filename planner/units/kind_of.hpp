/// Which unit table belongs to which alias of units.hpp. Private to planner/units.
/// A new quantity is one alias, one table and one line here.
#pragma once

#include "planner/units/unit_table.hpp"
#include "planner/units/units.hpp"

namespace planner::unit_table {

template <class Q>
inline constexpr Kind kKindOf = Q::no_unit_table;

template <>
inline constexpr Kind kKindOf<Length> = Kind::length;
template <>
inline constexpr Kind kKindOf<Time> = Kind::time;
template <>
inline constexpr Kind kKindOf<Speed> = Kind::speed;
template <>
inline constexpr Kind kKindOf<Acceleration> = Kind::acceleration;
template <>
inline constexpr Kind kKindOf<Mass> = Kind::mass;
template <>
inline constexpr Kind kKindOf<Force> = Kind::force;
template <>
inline constexpr Kind kKindOf<Stiffness> = Kind::stiffness;
template <>
inline constexpr Kind kKindOf<Frequency> = Kind::frequency;
template <>
inline constexpr Kind kKindOf<Angle> = Kind::angle;
template <>
inline constexpr Kind kKindOf<AngularSpeed> = Kind::angular_speed;
template <>
inline constexpr Kind kKindOf<Torque> = Kind::torque;
template <>
inline constexpr Kind kKindOf<Inertia> = Kind::inertia;
template <>
inline constexpr Kind kKindOf<Current> = Kind::current;
template <>
inline constexpr Kind kKindOf<Voltage> = Kind::voltage;
template <>
inline constexpr Kind kKindOf<Resistance> = Kind::resistance;
template <>
inline constexpr Kind kKindOf<Inductance> = Kind::inductance;

}  // namespace planner::unit_table

/// Applies a macro to every alias, for the explicit instantiations of units_text.hpp.
#define STEPPER_SIM_FOR_EACH_QUANTITY(apply)                                             \
    apply(Length) apply(Time) apply(Speed) apply(Acceleration) apply(Mass) apply(Force)  \
        apply(Stiffness) apply(Frequency) apply(Angle) apply(AngularSpeed) apply(Torque) \
            apply(Inertia) apply(Current) apply(Voltage) apply(Resistance) apply(Inductance)
