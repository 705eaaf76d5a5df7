/// The motor of stepper_sim/dynamics/full_model.hpp written down once more, straight from its equations, for general-purpose integrators:
/// state = rotor angle, rotor speed, load angle, load speed, current a, current b. No dry friction (it is not smooth).
/// The regulator is the same sampled one: every period it reads the state and holds a voltage.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>

#include "stepper_sim/dynamics/full_model.hpp"

namespace stepper_sim::reference {

using State = std::array<double, 6>;

struct Motor {
    dynamics::AxisDynamics axis;
    double voltage_a_V = 0.0, voltage_b_V = 0.0;

    void slope(const double* y, double* dy) const {
        const double e = axis.rotor_teeth * y[0];
        const double s = std::sin(e);
        const double c = std::cos(e);
        const double km = axis.torque_constant_Nm_A;
        const double motor_Nm = axis.torque_factor * km * (-y[4] * s + y[5] * c) -
                                axis.detent_torque_Nm * std::sin(4.0 * e);
        const double shaft_Nm =
            axis.stiffness_Nm_rad * (y[0] - y[2]) + axis.coupling_damping_Nms_rad * (y[1] - y[3]);
        dy[0] = y[1];
        dy[1] =
            (motor_Nm - axis.rotor_viscous_Nms_rad * y[1] - shaft_Nm) / axis.rotor_inertia_kg_m2;
        dy[2] = y[3];
        dy[3] = (shaft_Nm - axis.load_viscous_Nms_rad * y[3] - axis.gravity_Nm) /
                axis.load_inertia_kg_m2;
        dy[4] = (voltage_a_V - axis.resistance_ohm * y[4] + km * y[1] * s) / axis.inductance_H;
        dy[5] = (voltage_b_V - axis.resistance_ohm * y[5] - km * y[1] * c) / axis.inductance_H;
    }

    /// Dead-beat over one period, back-EMF taken at the middle of it.
    void regulate(const State& y, double command_e_rad, double period_s) {
        State dy{};
        slope(y.data(), dy.data());
        const double rate = y[1] + 0.5 * period_s * dy[1];
        const double e = axis.rotor_teeth * (y[0] + 0.5 * period_s * y[1]);
        const double km = axis.torque_constant_Nm_A;
        const double kept = std::exp(-axis.resistance_ohm * period_s / axis.inductance_H);
        const double gain = (1.0 - kept) / axis.resistance_ohm;
        const auto wanted = [&](double reference_A, double now_A, double emf_V) {
            return std::clamp((reference_A - kept * now_A) / gain + emf_V, -axis.supply_V,
                              axis.supply_V);
        };
        voltage_a_V =
            wanted(axis.current_A * std::cos(command_e_rad), y[4], -km * rate * std::sin(e));
        voltage_b_V =
            wanted(axis.current_A * std::sin(command_e_rad), y[5], km * rate * std::cos(e));
    }

    State at_rest() const {
        const double share = axis.gravity_Nm / dynamics::peak_torque_Nm(axis);
        const double angle = -std::asin(share) / axis.rotor_teeth;
        return {angle,          0.0, angle - axis.gravity_Nm / axis.stiffness_Nm_rad, 0.0,
                axis.current_A, 0.0};
    }
};

/// Command angle of a pulse train, as the full model samples it.
class Command {
  public:
    Command(std::span<const dynamics::StepEdge> edges, int microsteps)
        : edges_(edges), microstep_e_rad_(std::numbers::pi / (2.0 * microsteps)) {}
    double at(double time_s) {
        while (next_ < edges_.size() && edges_[next_].time_s <= time_s)
            count_ += edges_[next_++].microsteps;
        return static_cast<double>(count_) * microstep_e_rad_;
    }

  private:
    std::span<const dynamics::StepEdge> edges_;
    double microstep_e_rad_;
    std::size_t next_ = 0;
    long count_ = 0;
};

struct History {
    double largest_difference_rad =
        0.0;                    // of the rotor angle, to the full model at the same instants
    double peak_lag_rad = 0.0;  // electrical, of the reference
    bool lost = false;
    State end{};
};

/// Runs the window with `advance(motor, state, period_s)` as integrator and compares with the full model's states (one per period).
template <class Advance>
History run(const dynamics::AxisDynamics& axis, std::span<const dynamics::StepEdge> edges,
            std::span<const dynamics::MotorState> model, double period_s, Advance&& advance) {
    Motor motor{axis};
    State y = motor.at_rest();
    Command command(edges, axis.microsteps);
    History history;
    for (std::size_t i = 0; i < model.size(); ++i) {
        motor.regulate(y, command.at(static_cast<double>(i) * period_s), period_s);
        advance(motor, y, period_s);
        const double after_s = static_cast<double>(i + 1) * period_s;
        const double lag = std::fabs(command.at(after_s) - axis.rotor_teeth * y[0]);
        history.peak_lag_rad = std::max(history.peak_lag_rad, lag);
        history.lost = history.lost || lag > 2.0 * std::numbers::pi;
        history.largest_difference_rad =
            std::max(history.largest_difference_rad, std::fabs(y[0] - model[i].rotor_angle_rad));
    }
    history.end = y;
    return history;
}

/// Own numbers: a 0.4 N m motor, 0.45 kg on an elastic belt, weight on it, detent, no dry friction.
inline dynamics::AxisDynamics smooth_axis() {
    dynamics::AxisDynamics axis;
    axis.resistance_ohm = 1.65;
    axis.inductance_H = 2.8e-3;
    axis.torque_constant_Nm_A = 0.17;
    axis.current_A = 1.7;
    axis.supply_V = 24.0;
    axis.rotor_inertia_kg_m2 = 5.4e-6;
    axis.load_inertia_kg_m2 = 1.8e-5;
    axis.stiffness_Nm_rad = 2.4;
    axis.coupling_damping_Nms_rad =
        dynamics::coupling_damping_for(axis, dynamics::kDefaultModalDamping);
    axis.rotor_viscous_Nms_rad = dynamics::kDefaultViscousShare_s * dynamics::peak_torque_Nm(axis);
    axis.load_viscous_Nms_rad = 2e-5;
    axis.gravity_Nm = 0.02;
    axis.detent_torque_Nm = 0.01;
    return axis;
}

}  // namespace stepper_sim::reference
