/// One time step of several motors side by side, one motor a lane. Every number of a lane comes from that lane alone and in the same
/// order whatever the vector width, so a motor gets the same bits in any lane, on any processor. Internal to full_model.cpp.
/// Model:   the equations of full_model.hpp; regulators: dead-beat (a good sine regulator), or a chopper of fixed off-time, mixed decay
/// Formula: i <- i d + g (v - e), d = e^(-R h/L), g = (1 - d)/R; dead-beat v = clamp((i* - i d)/g + e, +-V);
///          w <- keep w + push T, then dry friction takes up to `stick` of |w|; sine and cosine turned by series to t^7 and t^6
/// Symbols: i, i* = current and its reference [A], e = back EMF [V], V = supply [V], h = step [s] (chopper: a sub-step), T = torque [N m],
///          t = electrical turn of one step [rad]
/// Valid:   turns below 0.2 rad a step (off by 1e-10 there); torque from the mean of the old and the new current
/// Source:  exact solution of L i' = v - R i - e with e frozen: textbook; the rest derived here
/// Checked by: OutsideMotion.AgreesWithRungeKutta8, FullModel.BatchGivesTheSameBitsAsOneByOne, FullModel.ADecayingCurrentStopsAtZero,
///             FullModel.FrictionHoldsTheLoadWhereItIsLarger
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <numbers>

// Rows are passed between functions of one translation unit only: how other compilers would pass them does not matter.
#pragma GCC diagnostic ignored "-Wpsabi"

namespace stepper_sim::dynamics::lanes {

inline constexpr std::size_t kLanes = 4;
inline constexpr double kNever = 1e300;

/// GCC's vector extension, which clang has too: arithmetic, comparison and choice lane by lane, on whatever registers there are.
using Row = double __attribute__((vector_size(kLanes * sizeof(double))));
using Bits = std::int64_t __attribute__((vector_size(kLanes * sizeof(double))));

/// Of one phase.
struct Winding {
    Row reference_A{}, emf_V{};   // of the step
    Row current_A{}, off_left{};  // state; chopper: sub-steps left of the off-time
    Row mean_A{}, voltage_V{};    // over the step
};

struct Block {
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
    // Two motors of one plant (crossed belts) stand in lanes 2n and 2n+1, one load beside each: what one lane's belt has of the
    // other's load, of its own, and what a load gets of the torques of both. A motor with a load of its own: 0, 1, 1.
    Row of_other{}, of_own = Row{} + 1.0, load_share = Row{} + 1.0;
    Row until_lost{};  // 1: the lane is done at its loss

    Row command_rad{};  // of the step

    // State; angles are half a step ahead of the speeds.
    Winding a{}, b{};
    Row angle_e_rad{}, sine{}, cosine{}, rate_rad_s{}, accel_rad_s2{};
    Row load_angle_rad{}, load_rate_rad_s{}, load_accel_rad_s2{};

    // Results.
    Row lag_rad{}, final_lag_rad{}, final_rate_rad_s{}, peak_lag_rad{}, peak_step{}, lost_step{};
};

// Of the power series.
inline constexpr double kSine3 = -1.0 / 6.0, kSine5 = 1.0 / 120.0, kSine7 = -1.0 / 5040.0;
inline constexpr double kCosine2 = -1.0 / 2.0, kCosine4 = 1.0 / 24.0, kCosine6 = -1.0 / 720.0;

inline const Bits kSign = Bits{} + INT64_MIN;

inline Row size_of(const Row& x) {
    return reinterpret_cast<Row>(reinterpret_cast<Bits>(x) & ~kSign);
}

inline Row with_sign_of(const Row& size, const Row& sign) {
    return reinterpret_cast<Row>(reinterpret_cast<Bits>(size) |
                                 (reinterpret_cast<Bits>(sign) & kSign));
}

inline Row clamped(const Row& x, const Row& limit) {
    const Row below = x < limit ? x : limit;
    return below > -limit ? below : -limit;
}

inline Row after_friction(const Row& rate_rad_s, const Row& stick_rad_s) {
    const Row size = size_of(rate_rad_s) - stick_rad_s;
    return size > 0.0 ? with_sign_of(size, rate_rad_s) : Row{};
}

/// Load angles at the start of step number `step`; lanes whose window is over keep their results.
inline void judge(Block& b, double step) {
    const Row now = Row{} + step;
    const Row angle_rad = b.angle_e_rad - b.teeth * b.half_step_s * b.rate_rad_s;
    b.lag_rad = b.command_rad - angle_rad;
    const auto runs = now <= b.last_step;
    const Row size = runs ? size_of(b.lag_rad) : Row{};
    b.final_lag_rad = runs ? b.lag_rad : b.final_lag_rad;
    b.final_rate_rad_s = runs ? b.rate_rad_s : b.final_rate_rad_s;
    const auto larger = size > b.peak_lag_rad;
    b.peak_step = larger ? now : b.peak_step;
    b.peak_lag_rad = larger ? size : b.peak_lag_rad;
    const auto lost_now = (size > 2.0 * std::numbers::pi) & (now < b.lost_step);
    b.lost_step = lost_now ? now : b.lost_step;
}

/// Whether every lane is done before its window is over: it is lost, or the motor beside it on the same plant is.
inline bool all_known(const Block& b) {
    bool all = true;
    for (std::size_t k = 0; k < kLanes; ++k) {
        const bool beside = b.of_other[k] != 0.0 && b.lost_step[k ^ 1U] < kNever;
        all = all && b.until_lost[k] != 0.0 && (b.lost_step[k] < kNever || beside);
    }
    return all;
}

inline void back_emf(Block& b) {
    const Row middle_rad_s = b.rate_rad_s + b.half_step_s * b.accel_rad_s2;
    b.a.emf_V = -b.emf_Vs * middle_rad_s * b.sine;
    b.b.emf_V = b.emf_Vs * middle_rad_s * b.cosine;
}

inline void dead_beat(const Block& b, Winding& w) {
    const Row kept_A = w.current_A * b.decay;
    const Row wanted_V = (w.reference_A - kept_A) * b.per_gain_V_A + w.emf_V;
    w.voltage_V = clamped(wanted_V, b.supply_V);
    const Row next_A = kept_A + b.gain_A_V * (w.voltage_V - w.emf_V);
    w.mean_A = 0.5 * (w.current_A + next_A);
    w.current_A = next_A;
}

/// Fixed off-time, mixed decay: on towards the reference until it is reached (at least one sub-step), then off: fast decay first
/// (supply against the current, which stops at zero), slow decay (short circuit) for the rest. Currents and voltages are counted
/// towards the reference here, and what a voltage adds to the current is worked out once a step: each sub-step waits for the one before.
class Chopper {
  public:
    Chopper() = default;
    Chopper(const Block& b, const Winding& w)
        : way_(with_sign_of(Row{} + 1.0, w.reference_A)),
          wanted_A_(size_of(w.reference_A)),
          now_A_(w.current_A * way_),
          left_(w.off_left) {
        const Row emf_V = w.emf_V * way_;
        on_A_ = b.gain_A_V * (b.supply_V - emf_V);
        slow_A_ = b.gain_A_V * (0.0 - emf_V);
        fast_A_ = b.gain_A_V * (-b.supply_V - emf_V);
    }

    void sub_step(const Block& b, bool traced) {
        const Row trip = now_A_ >= wanted_A_ ? b.off_steps : Row{};
        left_ = left_ > 0.0 ? left_ - 1.0 : trip;
        const auto off = left_ > 0.0, fast = left_ > b.slow_steps;
        const auto forward = now_A_ >= 0.0;
        const Row fast_A = forward ? fast_A_ : on_A_;
        const Row off_A = fast ? fast_A : slow_A_;
        const Row free_A = now_A_ * b.decay + (off ? off_A : on_A_);
        // Fast decay stops where the current would turn.
        const Bits turned = reinterpret_cast<Bits>(free_A) ^ reinterpret_cast<Bits>(now_A_);
        const auto stopped = fast & (turned < 0);
        const Row next_A = stopped ? Row{} : free_A;
        sum_A_ += 0.5 * (now_A_ + next_A);
        if (traced) {
            const Row fast_V = forward ? -b.supply_V : b.supply_V;
            const Row off_V = fast ? fast_V : Row{};
            sum_V_ += off ? off_V : b.supply_V;
        }
        now_A_ = next_A;
    }

    void end(Winding& w, double share) const {
        w.mean_A = sum_A_ * share * way_;
        w.voltage_V = sum_V_ * share * way_;
        w.current_A = now_A_ * way_;
        w.off_left = left_;
    }

  private:
    Row way_{}, wanted_A_{}, on_A_{}, slow_A_{}, fast_A_{}, now_A_{}, left_{};
    Row sum_A_{}, sum_V_{};
};

/// Both phases of all blocks in one loop: none waits for another. Mean voltages only where the run is traced.
template <std::size_t kCount>
inline void chop(std::array<Block, kCount>& blocks, int sub_steps, bool traced) {
    std::array<Chopper, kCount> first, second;
    for (std::size_t n = 0; n < kCount; ++n) {
        first[n] = Chopper(blocks[n], blocks[n].a);
        second[n] = Chopper(blocks[n], blocks[n].b);
    }
    for (int s = 0; s < sub_steps; ++s)
        for (std::size_t n = 0; n < kCount; ++n) {
            first[n].sub_step(blocks[n], traced);
            second[n].sub_step(blocks[n], traced);
        }
    const double share = 1.0 / sub_steps;
    for (std::size_t n = 0; n < kCount; ++n) {
        first[n].end(blocks[n].a, share);
        second[n].end(blocks[n].b, share);
    }
}

/// From loads to belts, and from belts to loads: crossed belts pull x + y and x - y.
inline Row mixed(const Block& b, const Row& x) {
    const Row other = {x[1], x[0], x[3], x[2]};
    return b.of_other * other + b.of_own * x;
}

/// Torques at mid-step, both masses with the same transmission torque, then speeds, friction and angles. `crossed`: lanes are pairs.
template <bool crossed>
inline void move(Block& b) {
    const Row s = b.sine, c = b.cosine;
    const Row rate = b.rate_rad_s, load_rate = b.load_rate_rad_s;
    const Row sin2 = 2.0 * s * c;
    const Row sin4 = 2.0 * sin2 * (1.0 - 2.0 * s * s);
    const Row motor_Nm = b.torque_Nm_A * (b.b.mean_A * c - b.a.mean_A * s) - b.detent_Nm * sin4;
    const Row load_middle_rad_s = load_rate + b.half_step_s * b.load_accel_rad_s2;
    const Row slip_rad_s = (rate + b.half_step_s * b.accel_rad_s2) -
                           (crossed ? mixed(b, load_middle_rad_s) : load_middle_rad_s);
    const Row twist_rad =
        b.angle_e_rad * b.per_teeth - (crossed ? mixed(b, b.load_angle_rad) : b.load_angle_rad);
    const Row shaft_Nm = b.stiffness_Nm_rad * twist_rad + b.damping_Nms_rad * slip_rad_s;
    const Row pull_Nm = crossed ? b.load_share * mixed(b, shaft_Nm) : shaft_Nm;

    const Row rotor_free =
        b.rotor_keep * rate + b.rotor_push * (motor_Nm - shaft_Nm - b.rotor_bias_Nm);
    const Row next = after_friction(rotor_free, b.rotor_stick);
    const Row load_free = b.load_keep * load_rate + b.load_push * (pull_Nm - b.load_bias_Nm);
    const Row load_next = after_friction(load_free, b.load_stick);

    b.accel_rad_s2 = (next - rate) * b.per_step_1_s;
    b.load_accel_rad_s2 = (load_next - load_rate) * b.per_step_1_s;
    b.rate_rad_s = next;
    b.load_rate_rad_s = load_next;
    b.load_angle_rad += b.step_s * load_next;
    const Row turn = b.teeth * b.step_s * next;
    b.angle_e_rad += turn;

    // Turn sine and cosine, which are first brought back to length 1. The next step waits for this: short chains.
    const Row norm = 1.5 - 0.5 * (s * s + c * c);
    const Row s1 = s * norm, c1 = c * norm;
    const Row t2 = turn * turn, t4 = t2 * t2;
    const Row sin_t = turn * ((1.0 + t2 * kSine3) + t4 * (kSine5 + t2 * kSine7));
    const Row cos_t = (1.0 + t2 * kCosine2) + t4 * (kCosine4 + t2 * kCosine6);
    b.sine = s1 * cos_t + c1 * sin_t;
    b.cosine = c1 * cos_t - s1 * sin_t;
}

}  // namespace stepper_sim::dynamics::lanes
