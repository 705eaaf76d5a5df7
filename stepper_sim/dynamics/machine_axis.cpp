#include "stepper_sim/dynamics/machine_axis.hpp"

#include <cmath>
#include <cstddef>

#include "stepper_sim/machine/typical.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::dynamics {
namespace {

void set_motor(AxisDynamics& out, const machine::Axis& axis) {
    const motor::MotorConstants plate = motor::motor_constants(axis.motor);
    out.resistance_ohm = plate.resistance_ohm;
    out.inductance_H = plate.inductance_H;
    out.torque_constant_Nm_A = plate.torque_constant_Nm_A;
    out.rotor_teeth = plate.rotor_teeth;
    out.current_A = axis.current.peak().value();
    out.supply_V = axis.supply.value();
    out.microsteps = axis.microsteps;
    if (axis.motor.detent_torque) out.detent_torque_Nm = axis.motor.detent_torque->value();
}

// Guess: a lone axis is known to a fifth until a trial has fitted it.
constexpr double kGivenSpread = 0.2;
// A load this light beside the rotor hardly moves it, whatever the spring between.
constexpr double kLightLoad = 0.05;

/// Force and inertia of its own axis that this motor carries: on crossed belts half, elsewhere its share of the motors.
double own_share(const motor::MotorLoad& motor) {
    return std::fabs(motor.share[0]);
}

void set_load(AxisDynamics& out, const motor::MotorLoads& loads, int motor) {
    const motor::MotorLoad& m = loads.motors[static_cast<std::size_t>(motor)];
    // Motors are numbered like the axes that name them.
    const motor::AxisLoad& load = loads.axes[static_cast<std::size_t>(motor)];
    const double r = m.radius_m, share = own_share(m);
    out.metres_per_rad = r;
    out.rotor_inertia_kg_m2 = m.rotating_inertia_kg_m2;
    out.load_inertia_kg_m2 = share * load.mass_kg * r * r * m.forward_gain;
    const double raise_Nm = share * load.weight_N * r * m.forward_gain;
    const double lower_Nm = share * load.weight_N * r * m.back_gain;
    out.coulomb_Nm =
        share * load.friction_N * r * m.forward_gain + 0.5 * std::fabs(raise_Nm - lower_Nm);
    out.gravity_Nm = 0.5 * (raise_Nm + lower_Nm);
    out.load_viscous_Nms_rad = share * load.viscous_N_s_m * r * r * m.forward_gain;
}

}  // namespace

AxisDynamics axis_dynamics(const machine::Machine& machine, const motor::MotorLoads& loads,
                           int motor, double torque_factor) {
    const machine::Axis& axis = machine.axes[static_cast<std::size_t>(motor)];
    AxisDynamics out;
    set_motor(out, axis);
    out.torque_factor = torque_factor;
    set_load(out, loads, motor);
    out.rotor_viscous_Nms_rad = kDefaultViscousShare_s * peak_torque_Nm(out);
    if (const auto band = stiffness_band(axis, out.rotor_inertia_kg_m2, out.load_inertia_kg_m2)) {
        // A motor that carries a share of the mass hangs on the same share of the spring, so that
        // the axis keeps its own frequency however many motors move it.
        out.stiffness_Nm_rad = own_share(loads.motors[static_cast<std::size_t>(motor)]) *
                               band->nominal_N_m * out.metres_per_rad * out.metres_per_rad;
        out.coupling_damping_Nms_rad =
            coupling_damping_for(out, axis.damping.value_or(kDefaultModalDamping));
    }
    for (const machine::MeasuredMode& mode : axis.modes)
        out.carriage_modes.push_back({mode.frequency.value(), mode.damping});
    return out;
}

std::optional<StiffnessBand> stiffness_band(const machine::Axis& axis, double rotor_inertia_kg_m2,
                                            double load_inertia_kg_m2) {
    if (axis.stiffness)
        return StiffnessBand{axis.stiffness->value(), 1.0 - kGivenSpread, 1.0 + kGivenSpread, true};
    if (load_inertia_kg_m2 <= kLightLoad * rotor_inertia_kg_m2) return std::nullopt;
    const machine::ClassBand band = machine::typical_stiffness(axis.drive);
    return StiffnessBand{band.nominal, band.low / band.nominal, band.high / band.nominal, false};
}

std::optional<StiffnessBand> stiffness_band(const machine::Machine& machine,
                                            const motor::MotorLoads& loads, int motor) {
    AxisDynamics load;
    set_load(load, loads, motor);
    return stiffness_band(machine.axes[static_cast<std::size_t>(motor)], load.rotor_inertia_kg_m2,
                          load.load_inertia_kg_m2);
}

double rad_per_m(const motor::MotorLoads& loads, int motor) {
    return 1.0 / loads.motors[static_cast<std::size_t>(motor)].radius_m;
}

}  // namespace stepper_sim::dynamics
