/// Question: what does one second of one motor cost the screen and the full model, and general-purpose integrators (GSL, odeint) and a
/// matrix exponential on the same motion?
/// Included: a zig-zag of a small belt axis with dry friction off (GSL cannot take it), 16 microsteps, ideal pulses made beforehand.
/// Excluded: making pulses, choosing windows. Realistic because short reversals below the base speed are where windows come from; the
/// screen's program is 40 moves a second of three phases each.
/// Counter us_per_s: microseconds of CPU per simulated second and motor. Every run's peak is compared with the first, so that a fast wrong
/// answer fails.
#include <benchmark/benchmark.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include <Eigen/Dense>
#include <array>
#include <boost/numeric/odeint.hpp>
#include <cmath>
#include <numbers>
#include <unsupported/Eigen/MatrixFunctions>
#include <vector>

#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"

namespace {

using namespace stepper_sim;

dynamics::AxisDynamics axis() {
    dynamics::AxisDynamics a;
    a.resistance_ohm = 1.65;
    a.inductance_H = 2.8e-3;
    a.torque_constant_Nm_A = 0.17;
    a.current_A = 1.7;
    a.supply_V = 24.0;
    a.rotor_inertia_kg_m2 = 5.4e-6;
    a.load_inertia_kg_m2 = 1.8e-5;
    a.stiffness_Nm_rad = 2.4;
    a.coupling_damping_Nms_rad = dynamics::coupling_damping_for(a, dynamics::kDefaultModalDamping);
    a.rotor_viscous_Nms_rad = dynamics::kDefaultViscousShare_s * dynamics::peak_torque_Nm(a);
    a.metres_per_rad = 6.366e-3;
    return a;
}

constexpr int kMoves = 40;
constexpr double kMove_s = 0.025;

std::vector<dynamics::RatePhase> zigzag(double scale) {
    const double top = 25.0 * scale;
    std::vector<dynamics::RatePhase> phases;
    for (int i = 0; i < kMoves; ++i) {
        const double sign = i % 2 == 0 ? 1.0 : -1.0;
        const double ramp_s = 0.3 * kMove_s;
        const double accel = sign * (top - 1.0) / ramp_s;
        phases.push_back({ramp_s, sign, accel});
        phases.push_back({kMove_s - 2.0 * ramp_s, sign * top, 0.0});
        phases.push_back({ramp_s, sign * top, -accel});
    }
    return phases;
}

constexpr double kSeconds = kMoves * kMove_s;

struct Windows {
    dynamics::AxisDynamics motor = axis();
    std::vector<std::vector<dynamics::StepEdge>> edges;
    std::vector<dynamics::WindowRun> runs;
    std::vector<dynamics::WindowOutcome> outcomes;

    explicit Windows(dynamics::CurrentRegulator regulator, std::size_t count = 16) {
        for (std::size_t i = 0; i < count; ++i)
            edges.push_back(dynamics::ideal_edges(zigzag(1.0 + 0.01 * static_cast<double>(i)),
                                                  dynamics::microstep_angle_rad(motor)));
        for (const auto& e : edges)
            runs.push_back({&motor, e, kSeconds, 0.0, 30.0, regulator, 1.0});
        outcomes.resize(runs.size());
    }
};

void report(benchmark::State& state, double motors, bool right) {
    state.counters["us_per_s"] =
        benchmark::Counter(1e-6 * kSeconds * motors, benchmark::Counter::kIsIterationInvariantRate |
                                                         benchmark::Counter::kInvert);
    if (!right) state.SkipWithError("a peak load angle changed between runs");
}

void screen(benchmark::State& state) {
    const dynamics::AxisDynamics motor = axis();
    const dynamics::TorqueTable torque([](double rate) { return 0.28 / (1.0 + rate / 200.0); },
                                       500.0);
    std::vector<std::vector<dynamics::RatePhase>> programs;
    for (int i = 0; i < 8; ++i)
        programs.push_back(zigzag(1.0 + 0.01 * i));
    std::vector<double> first(programs.size(), -1.0);
    std::size_t next = 0;
    bool right = true;
    for (auto _ : state) {
        dynamics::ModalScreen s(motor, torque);
        double peak = 0.0;
        const auto& phases = programs[next];
        for (std::size_t i = 0; i < phases.size(); ++i) {
            s.phase(phases[i]);
            if (i % 3 == 2) peak = std::fmax(peak, s.end_move().ratio);
        }
        if (first[next] < 0.0) first[next] = peak;
        right = right && peak == first[next];
        next = (next + 1) % programs.size();
    }
    report(state, 1.0, right);
}

void full_model(benchmark::State& state, dynamics::CurrentRegulator regulator) {
    Windows w(regulator);
    std::vector<double> first(w.runs.size(), -1.0);
    std::size_t next = 0;
    bool right = true;
    for (auto _ : state) {
        const double peak = dynamics::simulate(w.runs[next]).peak_load_angle_rad;
        if (first[next] < 0.0) first[next] = peak;
        right = right && peak == first[next];
        next = (next + 1) % w.runs.size();
    }
    report(state, 1.0, right);
}

void full_model_batch(benchmark::State& state, dynamics::CurrentRegulator regulator) {
    Windows w(regulator);
    std::vector<double> alone;
    for (const dynamics::WindowRun& run : w.runs)
        alone.push_back(dynamics::simulate(run).peak_load_angle_rad);
    bool right = true;
    for (auto _ : state) {
        dynamics::simulate(w.runs, w.outcomes);
        for (std::size_t i = 0; i < alone.size(); ++i)
            right = right && w.outcomes[i].peak_load_angle_rad == alone[i];
    }
    report(state, static_cast<double>(w.runs.size()), right);
}

/// The same motor and window with rk8pd; the same sampled dead-beat regulator.
struct GslMotor {
    dynamics::AxisDynamics a = axis();
    double voltage_a_V = 0.0, voltage_b_V = 0.0;

    static int slope(double, const double y[], double dy[], void* self) {
        const GslMotor& m = *static_cast<const GslMotor*>(self);
        const double e = m.a.rotor_teeth * y[0];
        const double s = std::sin(e);
        const double c = std::cos(e);
        const double km = m.a.torque_constant_Nm_A;
        const double shaft =
            m.a.stiffness_Nm_rad * (y[0] - y[2]) + m.a.coupling_damping_Nms_rad * (y[1] - y[3]);
        dy[0] = y[1];
        dy[1] = (km * (y[5] * c - y[4] * s) - m.a.rotor_viscous_Nms_rad * y[1] - shaft) /
                m.a.rotor_inertia_kg_m2;
        dy[2] = y[3];
        dy[3] = shaft / m.a.load_inertia_kg_m2;
        dy[4] = (m.voltage_a_V - m.a.resistance_ohm * y[4] + km * y[1] * s) / m.a.inductance_H;
        dy[5] = (m.voltage_b_V - m.a.resistance_ohm * y[5] - km * y[1] * c) / m.a.inductance_H;
        return GSL_SUCCESS;
    }

    void regulate(const double y[], double command_e_rad, double period_s) {
        const double kept = std::exp(-a.resistance_ohm * period_s / a.inductance_H);
        const double gain = (1.0 - kept) / a.resistance_ohm;
        const double emf = a.torque_constant_Nm_A * y[1];
        const double e = a.rotor_teeth * (y[0] + 0.5 * period_s * y[1]);
        const double v_a =
            (a.current_A * std::cos(command_e_rad) - kept * y[4]) / gain - emf * std::sin(e);
        const double v_b =
            (a.current_A * std::sin(command_e_rad) - kept * y[5]) / gain + emf * std::cos(e);
        voltage_a_V = std::fmax(-a.supply_V, std::fmin(a.supply_V, v_a));
        voltage_b_V = std::fmax(-a.supply_V, std::fmin(a.supply_V, v_b));
    }
};

using MotorValues = std::array<double, 6>;

/// Runs the window with an integrator of others: `advance(y, period_s)` carries y over one period of the
/// regulator.
template <class Advance>
void reference(benchmark::State& state, GslMotor& motor, double period_s, Advance&& advance) {
    const Windows w(dynamics::CurrentRegulator::dead_beat, 1);
    const double expected = dynamics::simulate(w.runs[0]).peak_load_angle_rad;
    const auto periods = static_cast<int>(std::lround(kSeconds / period_s));
    const double microstep_e_rad = std::numbers::pi / (2.0 * motor.a.microsteps);
    double peak = 0.0;
    for (auto _ : state) {
        MotorValues y{0.0, 0.0, 0.0, 0.0, motor.a.current_A, 0.0};
        std::size_t next = 0;
        long count = 0;
        peak = 0.0;
        for (int i = 0; i < periods; ++i) {
            const double now_s = i * period_s;
            while (next < w.edges[0].size() && w.edges[0][next].time_s <= now_s)
                count += w.edges[0][next++].microsteps;
            const double command = static_cast<double>(count) * microstep_e_rad;
            peak = std::fmax(peak, std::fabs(command - motor.a.rotor_teeth * y[0]));
            motor.regulate(y.data(), command, period_s);
            advance(y);
        }
        benchmark::DoNotOptimize(peak);
    }
    const double kSameAnswer_rad = 1e-3;  // electrical
    report(state, 1.0, std::fabs(peak - expected) < kSameAnswer_rad);
}

constexpr double kPeriod_s = 10e-6;  // of the regulator, as the full model's step
constexpr double kTolerance = 1e-9;  // absolute and relative, of the references

void gsl_rk8pd(benchmark::State& state) {
    GslMotor motor;
    gsl_odeiv2_system system{GslMotor::slope, nullptr, 6, &motor};
    gsl_odeiv2_driver* driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd,
                                                              kPeriod_s, kTolerance, kTolerance);
    reference(state, motor, kPeriod_s, [&](MotorValues& y) {
        gsl_odeiv2_driver_reset_hstart(driver, kPeriod_s);
        double t = 0.0;
        gsl_odeiv2_driver_apply(driver, &t, kPeriod_s, y.data());
    });
    gsl_odeiv2_driver_free(driver);
}

void odeint_dopri5(benchmark::State& state) {
    namespace odeint = boost::numeric::odeint;
    GslMotor motor;
    auto stepper =
        odeint::make_controlled(kTolerance, kTolerance, odeint::runge_kutta_dopri5<MotorValues>());
    reference(state, motor, kPeriod_s, [&](MotorValues& y) {
        stepper.reset();
        odeint::integrate_adaptive(
            stepper,
            [&](const MotorValues& at, MotorValues& slope, double t) {
                GslMotor::slope(t, at.data(), slope.data(), &motor);
            },
            y, 0.0, kPeriod_s, kPeriod_s);
    });
}

/// The screen's modes over the same phases by a matrix exponential for each phase and mode, of position,
/// speed and a force that rises evenly; the lags at the end must agree. It looks for no peaks.
void matrix_exponential(benchmark::State& state) {
    constexpr double kSameLag = 1e-9;  // of the peak torque's lag, about 0.1 rad: rounding
    const dynamics::AxisDynamics motor = axis();
    const dynamics::VibrationModes modes = dynamics::vibration_modes(motor);
    const std::vector<dynamics::RatePhase> phases = zigzag(1.0);
    dynamics::ModalScreen screen(motor, dynamics::TorqueTable([](double) { return 1.0; }, 500.0));
    for (const dynamics::RatePhase& phase : phases)
        screen.phase(phase);
    double lag_rad = 0.0;
    for (auto _ : state) {
        lag_rad = 0.0;
        for (const dynamics::VibrationMode& mode : modes.used()) {
            const double viscous = mode.rotor_shape * motor.rotor_viscous_Nms_rad +
                                   mode.load_shape * motor.load_viscous_Nms_rad;
            Eigen::Matrix4d a = Eigen::Matrix4d::Zero();
            a(0, 1) = a(1, 2) = a(2, 3) = 1.0;
            a(1, 0) = -mode.rate_rad_s * mode.rate_rad_s;
            a(1, 1) = -2.0 * mode.damping * mode.rate_rad_s;
            Eigen::Vector4d y = Eigen::Vector4d::Zero();
            double rate_rad_s = 0.0;
            for (const dynamics::RatePhase& phase : phases) {
                y(1) += mode.participation * (phase.start_rate_rad_s - rate_rad_s);
                y(2) = mode.participation * phase.acceleration_rad_s2 +
                       viscous * phase.start_rate_rad_s;
                y(3) = viscous * phase.acceleration_rad_s2;
                y = Eigen::Matrix4d(a * phase.duration_s).exp() * y;
                rate_rad_s = phase.end_rate_rad_s();
            }
            lag_rad += mode.rotor_shape * y(0);
        }
        benchmark::DoNotOptimize(lag_rad);
    }
    report(state, 1.0, std::fabs(lag_rad - screen.rotor_lag_rad()) < kSameLag);
}

BENCHMARK(screen);
BENCHMARK_CAPTURE(full_model, dead_beat, dynamics::CurrentRegulator::dead_beat);
BENCHMARK_CAPTURE(full_model, mixed_decay, dynamics::CurrentRegulator::mixed_decay);
// These share their windows between threads.
BENCHMARK_CAPTURE(full_model_batch, dead_beat, dynamics::CurrentRegulator::dead_beat)
    ->MeasureProcessCPUTime();
BENCHMARK_CAPTURE(full_model_batch, mixed_decay, dynamics::CurrentRegulator::mixed_decay)
    ->MeasureProcessCPUTime();
BENCHMARK(gsl_rk8pd);
BENCHMARK(odeint_dopri5);
BENCHMARK(matrix_exponential);

}  // namespace
