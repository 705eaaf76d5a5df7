#include "stepper_sim/trial/trial_prior.hpp"

#include <cmath>

#include "stepper_sim/dynamics/band_edge.hpp"
#include "stepper_sim/dynamics/machine_axis.hpp"
#include "stepper_sim/machine/typical.hpp"

namespace stepper_sim::trial {

namespace {

constexpr double kBandSpreads = 4.0;  // a band from low to high holds nine in ten or more

}  // namespace

TrialPrior trial_prior(const machine::Machine& machine, const run::MotorModels& models, int slot) {
    const motor::AvailableTorque& available = models.available[static_cast<std::size_t>(slot)];
    TrialPrior prior;
    prior.nominal = dynamics::axis_dynamics(machine, models.loads, available, slot,
                                            dynamics::BandEdge::nominal);
    const machine::Axis& axis = machine.axes[static_cast<std::size_t>(slot)];
    const machine::ClassBand friction = machine::typical_friction(axis.load.mass, !axis.travel_max);
    prior.spread[friction_unknown] = axis.load.friction_guessed
                                         ? std::log(friction.high / friction.low) / kBandSpreads
                                         : kFrictionPrior;
    prior.spread[torque_unknown] =
        std::log(available.high_Nm(0.0) / available.low_Nm(0.0)) / kBandSpreads;
    const auto spring = dynamics::stiffness_band(machine, models.loads, slot);
    prior.spread[spring_unknown] =
        dynamics::is_rigid(prior.nominal) || !spring ? kMassPrior
        : spring->given                              ? kStiffnessPrior
                        : std::log(spring->high_factor / spring->low_factor) / kBandSpreads;
    prior.spread[damping_unknown] = kDampingPrior;
    return prior;
}

dynamics::AxisDynamics moved(const dynamics::AxisDynamics& nominal,
                             const UnknownArray& logarithms) {
    dynamics::AxisDynamics axis = nominal;
    axis.coulomb_Nm *= std::exp(logarithms[friction_unknown]);
    axis.torque_factor *= std::exp(logarithms[torque_unknown]);
    const double spring = std::exp(logarithms[spring_unknown]);
    if (dynamics::is_rigid(axis)) {
        axis.load_inertia_kg_m2 *= spring;
        return axis;
    }
    axis.stiffness_Nm_rad *= spring;
    // At an unchanged ratio a stiffer spring damps more.
    axis.coupling_damping_Nms_rad *= std::exp(logarithms[damping_unknown]) * std::sqrt(spring);
    return axis;
}

}  // namespace stepper_sim::trial
