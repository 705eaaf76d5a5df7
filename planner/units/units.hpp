/// Boost.Units aliases used at every public boundary: SI inside, no text, no conversions.
/// Text such as "48 N cm" is units_text.hpp's business. The radian is a base
/// dimension: force times radius is no torque here, and models compute in plain SI numbers. Single quantity headers only: the all-in-one header costs every file a quarter of
/// a second.
#pragma once

#include <boost/units/quantity.hpp>
#include <boost/units/systems/si/acceleration.hpp>
#include <boost/units/systems/si/angular_velocity.hpp>
#include <boost/units/systems/si/base.hpp>
#include <boost/units/systems/si/current.hpp>
#include <boost/units/systems/si/electric_potential.hpp>
#include <boost/units/systems/si/force.hpp>
#include <boost/units/systems/si/frequency.hpp>
#include <boost/units/systems/si/inductance.hpp>
#include <boost/units/systems/si/length.hpp>
#include <boost/units/systems/si/mass.hpp>
#include <boost/units/systems/si/moment_of_inertia.hpp>
#include <boost/units/systems/si/plane_angle.hpp>
#include <boost/units/systems/si/resistance.hpp>
#include <boost/units/systems/si/surface_tension.hpp>
#include <boost/units/systems/si/temperature.hpp>
#include <boost/units/systems/si/time.hpp>
#include <boost/units/systems/si/torque.hpp>
#include <boost/units/systems/si/velocity.hpp>

namespace planner {

namespace si = boost::units::si;

using Length = boost::units::quantity<si::length>;
using Time = boost::units::quantity<si::time>;
using Speed = boost::units::quantity<si::velocity>;
using Acceleration = boost::units::quantity<si::acceleration>;
using Mass = boost::units::quantity<si::mass>;
using Force = boost::units::quantity<si::force>;
using Stiffness =
    boost::units::quantity<si::surface_tension>;  // N/m has the dimension of surface tension
using Frequency = boost::units::quantity<si::frequency>;
using Angle = boost::units::quantity<si::plane_angle>;
using AngularSpeed = boost::units::quantity<si::angular_velocity>;
using Torque = boost::units::quantity<si::torque>;
using Inertia = boost::units::quantity<si::moment_of_inertia>;
using Current = boost::units::quantity<si::current>;
using Voltage = boost::units::quantity<si::electric_potential>;
using Resistance = boost::units::quantity<si::resistance>;
using Inductance = boost::units::quantity<si::inductance>;

/// The SI number inside a quantity: the one way out of the unit system, into doubles named with
/// their unit.
template <class Q>
constexpr double to_si(const Q& quantity) {
    return quantity.value();
}

/// A quantity from an SI number: from_si<Torque>(0.48) is 0.48 N m.
template <class Q>
constexpr Q from_si(double value) {
    return Q::from_value(value);
}

}  // namespace planner
