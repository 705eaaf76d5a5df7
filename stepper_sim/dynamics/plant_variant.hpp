/// What a machine may be, within what is known of it: the corners at which a prediction must hold, for screen and full model alike.
/// Random draws for a likelihood are spread.hpp's business.
/// Model:   torque at an edge of its band, less the margin; friction, mass and stiffness each off by a factor
/// Formula: quantity = nominal x factor; the transmission keeps its damping ratio: cb ~ sqrt(k m)
/// Symbols: see PlantVariant
/// Valid:   factors > 0; the pulses are those of the nominal machine, since the controller knows none of this
/// Source:  Guess: friction +-30 %, mass +-10 % (motor/asked_torque.hpp), stiffness +-20 % (machine_axis.hpp); common practice, no source
/// Checked by: PlantVariant.*, LostSteps.EveryWindowIsSimulatedWithAllItsPulses; bench/adversary.cpp
#pragma once

#include <cmath>
#include <cstddef>
#include <vector>

#include "stepper_sim/dynamics/band_edge.hpp"

namespace stepper_sim::dynamics {

struct PlantVariant {
    BandEdge edge = BandEdge::nominal;
    double torque = 1.0;  // of that edge: 1 - margin where the margin must be kept
    double friction = 1.0, stiffness = 1.0, mass = 1.0;

    bool operator==(const PlantVariant&) const = default;
};

inline AxisDynamics varied(AxisDynamics at_edge, const PlantVariant& variant) {
    AxisDynamics& out = at_edge;
    out.torque_factor *= variant.torque;
    out.coulomb_Nm *= variant.friction;
    out.load_viscous_Nms_rad *= variant.friction;
    out.load_inertia_kg_m2 *= variant.mass;
    out.gravity_Nm *= variant.mass;
    out.stiffness_Nm_rad *= variant.stiffness;
    out.coupling_damping_Nms_rad *= std::sqrt(variant.mass * variant.stiffness);
    return out;
}

/// How far stiffness and mass together may be off, from the softest and heaviest (0) to the stiffest and lightest (1): between them
/// the natural frequencies sweep all that they can be.
struct SpringBand {
    double soft = 1.0, stiff = 1.0;

    double stiffness(double share) const { return soft * std::pow(stiff / soft, share); }
    static double mass(double share) {
        return (1.0 + motor::kMassSpread) *
               std::pow((1.0 - motor::kMassSpread) / (1.0 + motor::kMassSpread), share);
    }
};

inline SpringBand spring_band(const machine::Machine& machine, const motor::MotorLoads& loads,
                              int motor) {
    const auto band = stiffness_band(machine, loads, motor);
    return band ? SpringBand{band->low_factor, band->high_factor} : SpringBand{};
}

}  // namespace stepper_sim::dynamics
