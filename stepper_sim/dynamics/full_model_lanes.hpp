/// One time step of N motors side by side, in plain loops over lanes that the compiler turns into
/// vector code. Every number of a lane comes from that lane alone and in the same order for every
/// N, so one lane or many give the same bits. Internal to full_model.cpp; the equations are in
/// full_model.hpp.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace stepper_sim::lanes {

inline constexpr double kNever = 1e300;

template <std::size_t N>
struct Block {
    using Row = std::array<double, N>;

    // Constants of the lane.
    Row step_s{}, half_step_s{}, supply_V{}, emf_Vs{}, torque_Nm_A{}, detent_Nm{}, teeth{},
        per_teeth{};
    Row decay{}, gain_A_V{}, per_gain_V_A{};  // over the step; chopper: over a sub-step
    Row stiffness_Nm_rad{}, damping_Nms_rad{};
    // Speed: w <- keep w + push torque, then friction takes up to `stick`.
    Row rotor_keep{}, rotor_push{}, rotor_stick{}, rotor_bias_Nm{};
    Row load_keep{}, load_push{}, load_stick{}, load_bias_Nm{};
    Row per_step_1_s{}, last_step{};
    Row off_steps{}, slow_steps{};  // chopper, in sub-steps

    // Inputs of the step.
    Row reference_a_A{}, reference_b_A{}, command_rad{};

    // State; angles are half a step ahead of the speeds.
    Row angle_e_rad{}, sine{}, cosine{}, rate_rad_s{}, accel_rad_s2{};
    Row load_angle_rad{}, load_rate_rad_s{}, load_accel_rad_s2{};
    Row current_a_A{}, current_b_A{}, off_left_a{}, off_left_b{};

    // Workspace and results.
    Row emf_a_V{}, emf_b_V{}, mean_a_A{}, mean_b_A{}, voltage_a_V{}, voltage_b_V{};
    Row lag_rad{}, final_lag_rad{}, final_rate_rad_s{}, peak_lag_rad{}, peak_step{}, lost_step{};
};

inline double clamped(double x, double limit) {
    const double below = x < limit ? x : limit;
    return below > -limit ? below : -limit;
}

inline double after_friction(double rate_rad_s, double stick_rad_s) {
    const double size = std::fabs(rate_rad_s) - stick_rad_s;
    return size > 0.0 ? std::copysign(size, rate_rad_s) : 0.0;
}

/// Load angles at the start of step number `step`; lanes whose window is over keep their results.
template <std::size_t N>
void judge(Block<N>& b, double step) {
    for (std::size_t k = 0; k < N; ++k) {
        const double angle_rad = b.angle_e_rad[k] - b.teeth[k] * b.half_step_s[k] * b.rate_rad_s[k];
        const double lag_rad = b.command_rad[k] - angle_rad;
        const bool runs = step <= b.last_step[k];
        const double size = runs ? std::fabs(lag_rad) : 0.0;
        b.lag_rad[k] = lag_rad;
        b.final_lag_rad[k] = runs ? lag_rad : b.final_lag_rad[k];
        b.final_rate_rad_s[k] = runs ? b.rate_rad_s[k] : b.final_rate_rad_s[k];
        b.peak_step[k] = size > b.peak_lag_rad[k] ? step : b.peak_step[k];
        b.peak_lag_rad[k] = size > b.peak_lag_rad[k] ? size : b.peak_lag_rad[k];
        const double lost = size > 2.0 * std::numbers::pi ? step : kNever;
        b.lost_step[k] = lost < b.lost_step[k] ? lost : b.lost_step[k];
    }
}

template <std::size_t N>
void back_emf(Block<N>& b) {
    for (std::size_t k = 0; k < N; ++k) {
        const double middle_rad_s = b.rate_rad_s[k] + b.half_step_s[k] * b.accel_rad_s2[k];
        b.emf_a_V[k] = -b.emf_Vs[k] * middle_rad_s * b.sine[k];
        b.emf_b_V[k] = b.emf_Vs[k] * middle_rad_s * b.cosine[k];
    }
}

template <std::size_t N>
void dead_beat(const Block<N>& b, const std::array<double, N>& reference_A,
               const std::array<double, N>& emf_V, std::array<double, N>& current_A,
               std::array<double, N>& mean_A, std::array<double, N>& voltage_V) {
    for (std::size_t k = 0; k < N; ++k) {
        const double kept_A = current_A[k] * b.decay[k];
        const double wanted_V = (reference_A[k] - kept_A) * b.per_gain_V_A[k] + emf_V[k];
        voltage_V[k] = clamped(wanted_V, b.supply_V[k]);
        const double next_A = kept_A + b.gain_A_V[k] * (voltage_V[k] - emf_V[k]);
        mean_A[k] = 0.5 * (current_A[k] + next_A);
        current_A[k] = next_A;
    }
}

/// Fixed off-time, mixed decay: on towards the reference until it is reached (at least one
/// sub-step), then off: fast decay first (supply against the current, which stops at zero), slow
/// decay (short circuit) for the rest.
template <std::size_t N>
void chop(const Block<N>& b, int sub_steps, const std::array<double, N>& reference_A,
          const std::array<double, N>& emf_V, std::array<double, N>& current_A,
          std::array<double, N>& off_left, std::array<double, N>& mean_A,
          std::array<double, N>& voltage_V) {
    std::array<double, N> sum_A{};
    std::array<double, N> sum_V{};
    for (int s = 0; s < sub_steps; ++s) {
        for (std::size_t k = 0; k < N; ++k) {
            const double now_A = current_A[k];
            const double forward_A = reference_A[k] >= 0.0 ? now_A : -now_A;
            const double on_V = reference_A[k] >= 0.0 ? b.supply_V[k] : -b.supply_V[k];
            const double trip = forward_A >= std::fabs(reference_A[k]) ? b.off_steps[k] : 0.0;
            const double left = off_left[k] > 0.0 ? off_left[k] - 1.0 : trip;
            const bool fast = left > b.slow_steps[k];
            const double fast_V = now_A >= 0.0 ? -b.supply_V[k] : b.supply_V[k];
            const double off_V = fast ? fast_V : 0.0;
            const double v_V = left > 0.0 ? off_V : on_V;
            const double free_A = now_A * b.decay[k] + b.gain_A_V[k] * (v_V - emf_V[k]);
            const double stopped_A = free_A * now_A < 0.0 ? 0.0 : free_A;
            const double next_A = fast ? stopped_A : free_A;
            sum_A[k] += 0.5 * (now_A + next_A);
            sum_V[k] += v_V;
            current_A[k] = next_A;
            off_left[k] = left;
        }
    }
    const double share = 1.0 / sub_steps;
    for (std::size_t k = 0; k < N; ++k) {
        mean_A[k] = sum_A[k] * share;
        voltage_V[k] = sum_V[k] * share;
    }
}

/// Torques at mid-step, both masses with the same transmission torque, then speeds, friction and
/// angles.
template <std::size_t N>
void move(Block<N>& b) {
    for (std::size_t k = 0; k < N; ++k) {
        const double s = b.sine[k];
        const double c = b.cosine[k];
        const double rate = b.rate_rad_s[k];
        const double load_rate = b.load_rate_rad_s[k];
        const double sin2 = 2.0 * s * c;
        const double sin4 = 2.0 * sin2 * (1.0 - 2.0 * s * s);
        const double motor_Nm =
            b.torque_Nm_A[k] * (b.mean_b_A[k] * c - b.mean_a_A[k] * s) - b.detent_Nm[k] * sin4;
        const double slip_rad_s = (rate + b.half_step_s[k] * b.accel_rad_s2[k]) -
                                  (load_rate + b.half_step_s[k] * b.load_accel_rad_s2[k]);
        const double twist_rad = b.angle_e_rad[k] * b.per_teeth[k] - b.load_angle_rad[k];
        const double shaft_Nm =
            b.stiffness_Nm_rad[k] * twist_rad + b.damping_Nms_rad[k] * slip_rad_s;

        const double rotor_free =
            b.rotor_keep[k] * rate + b.rotor_push[k] * (motor_Nm - shaft_Nm - b.rotor_bias_Nm[k]);
        const double next = after_friction(rotor_free, b.rotor_stick[k]);
        const double load_free =
            b.load_keep[k] * load_rate + b.load_push[k] * (shaft_Nm - b.load_bias_Nm[k]);
        const double load_next = after_friction(load_free, b.load_stick[k]);

        b.accel_rad_s2[k] = (next - rate) * b.per_step_1_s[k];
        b.load_accel_rad_s2[k] = (load_next - load_rate) * b.per_step_1_s[k];
        b.rate_rad_s[k] = next;
        b.load_rate_rad_s[k] = load_next;
        b.load_angle_rad[k] += b.step_s[k] * load_next;
        const double turn = b.teeth[k] * b.step_s[k] * next;
        b.angle_e_rad[k] += turn;

        // Rotate sine and cosine by the small turn (series to the ninth order: to rounding below
        // 0.2 rad), then renormalise once.
        const double t2 = turn * turn;
        const double sin_t =
            turn * (1.0 - t2 / 6.0 * (1.0 - t2 / 20.0 * (1.0 - t2 / 42.0 * (1.0 - t2 / 72.0))));
        const double cos_t =
            1.0 - 0.5 * t2 * (1.0 - t2 / 12.0 * (1.0 - t2 / 30.0 * (1.0 - t2 / 56.0)));
        const double s1 = s * cos_t + c * sin_t;
        const double c1 = c * cos_t - s * sin_t;
        const double norm = 1.5 - 0.5 * (s1 * s1 + c1 * c1);
        b.sine[k] = s1 * norm;
        b.cosine[k] = c1 * norm;
    }
}

}  // namespace stepper_sim::lanes
