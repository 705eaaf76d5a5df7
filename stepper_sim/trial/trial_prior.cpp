#include "stepper_sim/trial/trial_prior.hpp"

#include <cmath>

#include "stepper_sim/dynamics/band_edge.hpp"

namespace stepper_sim {

namespace {

constexpr double kBandSpreads = 4.0;  // a band from low to high holds nine in ten or more

}  // namespace

TrialPrior trial_prior(const Machine& machine, const MotorModels& models, int slot) {
    const AvailableTorque& available = models.available[static_cast<std::size_t>(slot)];
    TrialPrior prior;
    prior.nominal = axis_dynamics(machine, models.loads, available, slot, BandEdge::nominal);
    prior.spread[friction_unknown] = kFrictionPrior;
    prior.spread[torque_unknown] =
        std::log(available.high_Nm(0.0) / available.low_Nm(0.0)) / kBandSpreads;
    prior.spread[spring_unknown] = is_rigid(prior.nominal) ? kMassPrior : kStiffnessPrior;
    prior.spread[damping_unknown] = kDampingPrior;
    return prior;
}

AxisDynamics moved(const AxisDynamics& nominal, const UnknownArray& logarithms) {
    AxisDynamics axis = nominal;
    axis.coulomb_Nm *= std::exp(logarithms[friction_unknown]);
    axis.torque_factor *= std::exp(logarithms[torque_unknown]);
    const double spring = std::exp(logarithms[spring_unknown]);
    if (is_rigid(axis)) {
        axis.load_inertia_kg_m2 *= spring;
        return axis;
    }
    axis.stiffness_Nm_rad *= spring;
    // At an unchanged ratio a stiffer spring damps more.
    axis.coupling_damping_Nms_rad *= std::exp(logarithms[damping_unknown]) * std::sqrt(spring);
    return axis;
}

}  // namespace stepper_sim
