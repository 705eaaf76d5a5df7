#include "bench/adversary_model.hpp"

#include <algorithm>
#include <boost/numeric/odeint/algebra/array_algebra.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta4_classic.hpp>
#include <cmath>
#include <numbers>

namespace stepper_sim::adversary {

namespace {

constexpr double kPitch_rad = 2.0 * std::numbers::pi;  // electrical
constexpr double kSlowest_m_s = 1e-3;                  // Guess: slower than any swing that matters
constexpr double kFrictionShare = 0.5;                 // h F/(m v0), see the header

/// One or two motors with as many loads: per motor four numbers, then two per load.
template <std::size_t N>
class Equations {
  public:
    static constexpr std::size_t kPerMotor = 4, kLoads = kPerMotor * N, kSize = kLoads + 2 * N;
    using State = std::array<double, kSize>;

    Equations(const Plant& plant, double step_s) : plant_(plant) {
        for (std::size_t m = 0; m < N; ++m) {
            full_m_s_[m] = full_friction_m_s(plant.load[m], step_s);
            command(m, 0.0);
        }
    }

    /// The command of a motor, electrical, until it is told another.
    void command(std::size_t m, double angle_rad) {
        const Motor& motor = plant_.motor[m];
        wanted_a_[m] = motor.current_A * std::cos(angle_rad);
        wanted_b_[m] = motor.current_A * std::sin(angle_rad);
    }

    State start() const {
        State state{};
        for (std::size_t m = 0; m < N; ++m)
            state[kPerMotor * m] = wanted_a_[m];
        return state;
    }

    void operator()(const State& s, State& ds, double /*time_s*/) const {
        std::array<double, N> force_N{};
        for (std::size_t m = 0; m < N; ++m)
            force_N[m] = turn(m, s, ds);
        for (std::size_t j = 0; j < N; ++j) {
            const Load& load = plant_.load[j];
            const double speed = s[kLoads + 2 * j + 1];
            double sum_N =
                load.pull_N - load.friction_N * std::clamp(speed / full_m_s_[j], -1.0, 1.0);
            for (std::size_t m = 0; m < N; ++m)
                sum_N += pulls(m, j) * force_N[m];
            ds[kLoads + 2 * j] = speed;
            ds[kLoads + 2 * j + 1] = sum_N / load.mass_kg;
        }
    }

    double lag_rad(std::size_t m, const State& s, double command_rad) const {
        return command_rad - plant_.motor[m].teeth * s[kPerMotor * m + 2];
    }

  private:
    /// Belt m by load j: x + y and x - y.
    static constexpr double pulls(std::size_t m, std::size_t j) {
        return m == 1 && j == 1 ? -1.0 : 1.0;
    }

    /// Currents and rotor of one motor; returns the force in its belt.
    double turn(std::size_t m, const State& s, State& ds) const {
        const Motor& motor = plant_.motor[m];
        const std::size_t at = kPerMotor * m;
        const double ia = s[at], ib = s[at + 1], rate = s[at + 3];
        const double sine = std::sin(motor.teeth * s[at + 2]);
        const double cosine = std::cos(motor.teeth * s[at + 2]);
        ds[at] = current_rise(motor, wanted_a_[m], ia, -motor.torque_constant_Nm_A * rate * sine);
        ds[at + 1] =
            current_rise(motor, wanted_b_[m], ib, motor.torque_constant_Nm_A * rate * cosine);
        double stretch_m = motor.radius_m * s[at + 2];
        double stretch_m_s = motor.radius_m * rate;
        for (std::size_t j = 0; j < N; ++j) {
            stretch_m -= pulls(m, j) * s[kLoads + 2 * j];
            stretch_m_s -= pulls(m, j) * s[kLoads + 2 * j + 1];
        }
        const double force_N = motor.belt_N_m * stretch_m + motor.belt_Ns_m * stretch_m_s;
        const double twice_sine = 2.0 * sine * cosine;
        const double twice_cosine = cosine * cosine - sine * sine;
        const double torque_Nm =
            motor.torque_factor * motor.torque_constant_Nm_A * (ib * cosine - ia * sine) -
            motor.detent_Nm * 2.0 * twice_sine * twice_cosine;
        ds[at + 2] = rate;
        ds[at + 3] = (torque_Nm - motor.viscous_Nms_rad * rate - motor.radius_m * force_N) /
                     motor.inertia_kg_m2;
        return force_N;
    }

    static double current_rise(const Motor& motor, double wanted_A, double now_A, double emf_V) {
        const double asked_V = motor.resistance_ohm * wanted_A +
                               motor.inductance_H / kRegulator_s * (wanted_A - now_A) + emf_V;
        const double volts = std::clamp(asked_V, -motor.supply_V, motor.supply_V);
        return (volts - motor.resistance_ohm * now_A - emf_V) / motor.inductance_H;
    }

    const Plant& plant_;
    std::array<double, N> wanted_a_{}, wanted_b_{}, full_m_s_{};
};

template <std::size_t N>
using Stepper = boost::numeric::odeint::runge_kutta4_classic<typename Equations<N>::State, double,
                                                             typename Equations<N>::State, double,
                                                             boost::numeric::odeint::array_algebra>;

template <std::size_t N>
Answer run_sized(const Plant& plant, std::span<const Pulse> pulses, double step_s) {
    Equations<N> equations(plant, step_s);
    Stepper<N> stepper;
    auto state = equations.start();
    std::array<double, N> command_rad{};
    std::array<bool, N> stepped{};
    Answer answer;
    const double end_s = (pulses.empty() ? 0.0 : pulses.back().time_s) + kSettle_s;
    const auto steps = static_cast<std::size_t>(end_s / step_s) + 1;
    std::size_t next = 0;
    for (std::size_t n = 0; n < steps; ++n) {
        const double from_s = static_cast<double>(n) * step_s;
        const double to_s = static_cast<double>(n + 1) * step_s;
        // Over a step the command is its mean there: what a pulse adds, it adds for the rest of the step.
        auto mean_rad = command_rad;
        std::array<bool, N> changed{};
        for (; next < pulses.size() && pulses[next].time_s < to_s; ++next) {
            const auto m = static_cast<std::size_t>(pulses[next].motor);
            const double angle_rad = pulses[next].way * plant.motor[m].step_rad();
            command_rad[m] += angle_rad;
            mean_rad[m] += angle_rad * (to_s - pulses[next].time_s) / step_s;
            changed[m] = true;
        }
        for (std::size_t m = 0; m < N; ++m)
            if (changed[m] || stepped[m]) equations.command(m, mean_rad[m]);
        stepped = changed;
        stepper.do_step(std::cref(equations), state, from_s, step_s);
        for (std::size_t m = 0; m < N; ++m) {
            const double lag_rad = std::fabs(equations.lag_rad(m, state, command_rad[m]));
            answer.peak_lag_rad = std::max(answer.peak_lag_rad, lag_rad);
            if (lag_rad > kPitch_rad) {
                answer.slipped = true;
                answer.motor = static_cast<int>(m);
                answer.time_s = to_s;
                return answer;
            }
        }
    }
    for (std::size_t m = 0; m < N; ++m) {
        const double lag_rad = equations.lag_rad(m, state, command_rad[m]);
        answer.lost[m] = static_cast<int>(std::lround(lag_rad / kPitch_rad));
        if (answer.lost[m] == 0 || answer.slipped) continue;
        answer.slipped = true;
        answer.motor = static_cast<int>(m);
        answer.time_s = end_s;
    }
    return answer;
}

template <std::size_t N>
void watch_sized(const Plant& plant, const Moment& start, double seconds, double step_s,
                 const std::function<void(double, const Moment&)>& see) {
    const Equations<N> equations(plant, step_s);
    Stepper<N> stepper;
    typename Equations<N>::State state{};
    for (std::size_t m = 0; m < N; ++m) {
        const std::size_t at = Equations<N>::kPerMotor * m, load = Equations<N>::kLoads + 2 * m;
        state[at] = start.current_a_A[m];
        state[at + 1] = start.current_b_A[m];
        state[at + 2] = start.angle_rad[m];
        state[at + 3] = start.rate_rad_s[m];
        state[load] = start.position_m[m];
        state[load + 1] = start.speed_m_s[m];
    }
    const auto steps = static_cast<std::size_t>(std::lround(seconds / step_s));
    for (std::size_t n = 0; n < steps; ++n) {
        stepper.do_step(std::cref(equations), state, static_cast<double>(n) * step_s, step_s);
        Moment now;
        for (std::size_t m = 0; m < N; ++m) {
            const std::size_t at = Equations<N>::kPerMotor * m, load = Equations<N>::kLoads + 2 * m;
            now.current_a_A[m] = state[at];
            now.current_b_A[m] = state[at + 1];
            now.angle_rad[m] = state[at + 2];
            now.rate_rad_s[m] = state[at + 3];
            now.position_m[m] = state[load];
            now.speed_m_s[m] = state[load + 1];
        }
        see(static_cast<double>(n + 1) * step_s, now);
    }
}

}  // namespace

double Motor::step_rad() const {
    return 2.0 * std::numbers::pi / (4.0 * microsteps);  // a full step is a quarter of a pitch
}

double full_friction_m_s(const Load& load, double step_s) {
    return std::max(kSlowest_m_s, step_s * load.friction_N / (kFrictionShare * load.mass_kg));
}

Answer run(const Plant& plant, std::span<const Pulse> pulses, double step_s) {
    return plant.motors == 2 ? run_sized<2>(plant, pulses, step_s)
                             : run_sized<1>(plant, pulses, step_s);
}

void watch(const Plant& plant, const Moment& start, double seconds, double step_s,
           const std::function<void(double time_s, const Moment&)>& see) {
    if (plant.motors == 2)
        watch_sized<2>(plant, start, seconds, step_s, see);
    else
        watch_sized<1>(plant, start, seconds, step_s, see);
}

}  // namespace stepper_sim::adversary
