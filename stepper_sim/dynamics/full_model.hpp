/// Motor, regulator, transmission and load integrated in time, driven by the step pulses really sent: the judge of suspicious windows.
/// It does not choose windows (windows.hpp) and gives no verdict over several runs (slip_judge.hpp).
/// Model:   (crossed belts: two rotors and two loads, x on a + b, y on a - b; the belt of a pulls x + y, that of b x - y)
///          two phases with back-EMF and a voltage limit, sine torque with detent, rotor and load on a damped spring, dry friction that sticks
/// Formula: L i' = v - R i - e, e = (-Km w sin, Km w cos)(Nr th); Te = f Km (-ia sin + ib cos) - Td sin(4 Nr th);
///          Jr w' = Te - Br w - Ts; Jl vl' = Ts - Tc sgn(vl) - Bl vl - Tg; Ts = kb (th - xl) + cb (w - vl);
///          exact exponential of the current per step with e frozen at mid-step; leapfrog mechanics (angles half a step ahead of speeds)
/// Symbols: as in axis_dynamics.hpp; th, xl = rotor and load angle [rad]; w, vl = their speeds [rad/s]; i = phase current [A];
///          v = voltage [V]; Td = detent, Tc = dry friction, Tg = gravity torque [N m]
/// Valid:   linear magnetics; no supply sag, heating, driver dead time or backlash; step 10 us, 5 us above twice the base speed;
///          a transmission too stiff for the step (h w_max >= 0.3) is taken as rigid and reported so
/// Source:  textbook two-phase hybrid motor, e.g. P. Acarnley, Stepping Motors (from memory); integrator derived here
/// Checked by: OutsideMotion.AgreesWithRungeKutta8, OutsideMotion.AgreesWithAdamsOfCvode, OutsideMotion.AgreesWithACircuitSimulator
#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "stepper_sim/dynamics/axis_dynamics.hpp"
#include "stepper_sim/dynamics/step_edges.hpp"

namespace stepper_sim::dynamics {

enum class CurrentRegulator : std::uint8_t {
    dead_beat,    // a good sine regulator: the voltage that meets the reference one step later,
                  // within the supply
    mixed_decay,  // fixed off-time chopper: on until the reference is reached, then fast and slow
                  // decay
};

/// One window of one motor. The spans and the axis must outlive the call.
struct WindowRun {
    const AxisDynamics* axis = nullptr;
    std::span<const StepEdge> edges;
    double duration_s = 0.0;
    double start_rate_rad_s = 0.0;  // speed at the start, taken as steady motion in step
    double top_rate_rad_s = 0.0;    // largest speed commanded: chooses the step
    CurrentRegulator regulator = CurrentRegulator::dead_beat;
    double viscous_factor = 1.0;  // on the rotor's viscous friction (cruise check: 1/3 and 3)
    bool until_lost = false;      // only slipped() and lost_time_s are asked for
    // This run and the next are the motors of crossed belts: one plant, whose first load moves with the sum of both motors, the
    // second with their difference. Regulator, duration and viscous factor are the same; no transmission is rigid.
    bool with_next = false;
};

struct WindowOutcome {
    double peak_load_angle_rad = 0.0;  // electrical; one full step = pi/2
    double peak_time_s = 0.0;
    bool lost_synchronism = false;  // the load angle passed 2 pi
    double lost_time_s = 0.0;
    int lost_cycles = 0;  // at the end: tooth pitches the rotor is behind (+); 4 full steps each
    double end_rate_rad_s = 0.0;
    bool transmission_rigid = false;

    /// Slipped in any sense: on the way or left out of place.
    bool slipped() const { return lost_synchronism || lost_cycles != 0; }
};

/// Time step for windows that reach this speed [s].
double integration_step_s(const AxisDynamics& axis, double top_rate_rad_s);

/// Runs one window of a motor with a load of its own; eight cost little more than one.
WindowOutcome simulate(const WindowRun& run);

/// Runs many, several at once where the regulator is the same; outcome i belongs to run i and, in
/// what that run asks for, equals simulate(run i) bit for bit. `outcomes` has the size of `runs`.
void simulate(std::span<const WindowRun> runs, std::span<WindowOutcome> outcomes);

/// What the motor does at one instant, for comparison with other integrators.
struct MotorState {
    double time_s, rotor_angle_rad, rotor_rate_rad_s, load_angle_rad, load_rate_rad_s;
    double current_a_A, current_b_A, voltage_a_V, voltage_b_V;
    double lag_rad;  // electrical load angle
};

/// Hands `sink` the states at the ends of all steps of one window; simulate() keeps none.
/// Voltages are those of the step that ended (mean over it for the chopper).
void for_each_state(const WindowRun& run, double step_s,
                    const std::function<void(const MotorState&)>& sink);

/// All of them (tests and plots).
std::vector<MotorState> trace(const WindowRun& run, double step_s);

}  // namespace stepper_sim::dynamics
