#include "stepper_sim/dynamics/full_model.hpp"

#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <tuple>

#include "stepper_sim/dynamics/full_model_lanes.hpp"

namespace stepper_sim::dynamics {
namespace {

using lanes::Block;
using lanes::kLanes;

// Of lanes, side by side: each waits for its step before, and two wait less.
constexpr std::size_t kBlocks = 2, kAtOnce = kBlocks * kLanes;
constexpr double kStep_s = 10e-6;
constexpr double kFastStep_s =
    5e-6;  // 20 us damped an instability above the corner that 5 us showed
constexpr double kFastFromBaseSpeeds = 2.0;
constexpr double kStiffestStep =
    0.3;  // step times fastest rate: beyond, the leapfrog loses the transmission mode
constexpr std::int64_t kLookEvery = 64;        // steps, whether all is known
constexpr double kChopperSubStep_s = 1.25e-6;  // also the shortest on-time, a usual blanking time
// Fixed off-time and share of fast decay as in the A4988 data sheet with its timing pin grounded
// (20 us, 31.25 %): from memory.
constexpr double kOffTime_s = 20e-6;
constexpr double kFastDecayShare = 0.3125;
constexpr double kBearableShare = 0.5;  // of it, where both loads of crossed belts pull at one belt
constexpr double kSteadyShare =
    0.9;  // of the peak torque, at most, taken as load of the steady start

double turning_sign(double rate_rad_s) {
    return rate_rad_s == 0.0 ? 0.0 : std::copysign(1.0, rate_rad_s);
}

bool too_stiff(const AxisDynamics& axis, double step_s) {
    const double rate2 =
        axis.stiffness_Nm_rad * (1.0 / axis.rotor_inertia_kg_m2 + 1.0 / axis.load_inertia_kg_m2) +
        magnetic_stiffness_Nm_rad(axis) / axis.rotor_inertia_kg_m2;
    return step_s * std::sqrt(rate2) >= kStiffestStep;
}

/// Follows the pulses of one lane: which microstep is commanded, and the reference currents of each.
class Command {
  public:
    explicit Command(const WindowRun& run)
        : edges_(run.edges),
          period_(4 * run.axis->microsteps),
          microstep_e_rad_(2.0 * std::numbers::pi / period_) {
        reference_A_.reserve(static_cast<std::size_t>(period_));
        for (int i = 0; i < period_; ++i)
            reference_A_.push_back({run.axis->current_A * std::cos(i * microstep_e_rad_),
                                    run.axis->current_A * std::sin(i * microstep_e_rad_)});
    }

    /// Time of the next pulse, never where there is none.
    double next_s() const { return next_ < edges_.size() ? edges_[next_].time_s : lanes::kNever; }

    /// Gives lane k what is commanded at this time.
    void give(Block& b, std::size_t k, double time_s) {
        while (next_s() <= time_s)
            count_ += edges_[next_++].microsteps;
        b.command_rad[k] = static_cast<double>(count_) * microstep_e_rad_;
        const long long wrapped = (count_ % period_ + period_) % period_;
        const std::array<double, 2>& reference_A = reference_A_[static_cast<std::size_t>(wrapped)];
        b.a.reference_A[k] = reference_A[0];
        b.b.reference_A[k] = reference_A[1];
    }

  private:
    std::span<const StepEdge> edges_;
    int period_;
    double microstep_e_rad_;
    std::size_t next_ = 0;
    long long count_ = 0;
    std::vector<std::array<double, 2>> reference_A_;
};

void set_electrics(Block& b, std::size_t k, const WindowRun& run, double step_s) {
    const AxisDynamics& axis = *run.axis;
    const bool chopper = run.regulator == CurrentRegulator::mixed_decay;
    const double electric_step_s = chopper ? kChopperSubStep_s : step_s;
    b.step_s[k] = step_s;
    b.half_step_s[k] = 0.5 * step_s;
    b.per_step_1_s[k] = 1.0 / step_s;
    b.last_step[k] = std::ceil(run.duration_s / step_s);
    b.supply_V[k] = axis.supply_V;
    b.emf_Vs[k] = axis.torque_constant_Nm_A;
    b.torque_Nm_A[k] = axis.torque_factor * axis.torque_constant_Nm_A;
    b.detent_Nm[k] = axis.detent_torque_Nm;
    b.teeth[k] = axis.rotor_teeth;
    b.per_teeth[k] = 1.0 / axis.rotor_teeth;
    b.decay[k] = std::exp(-axis.resistance_ohm * electric_step_s / axis.inductance_H);
    b.gain_A_V[k] = (1.0 - b.decay[k]) / axis.resistance_ohm;
    b.per_gain_V_A[k] = 1.0 / b.gain_A_V[k];
    b.off_steps[k] = std::round(kOffTime_s / kChopperSubStep_s);
    b.slow_steps[k] = std::round((1.0 - kFastDecayShare) * b.off_steps[k]);
}

void set_mechanics(Block& b, std::size_t k, const WindowRun& run, bool rigid) {
    const AxisDynamics& axis = *run.axis;
    const double h = b.step_s[k];
    const double rotor_viscous = axis.rotor_viscous_Nms_rad * run.viscous_factor;
    // Trapezoidal viscous friction: w (1 + hB/2J) = w (1 - hB/2J) + h torque / J.
    const double inertia = rigid ? total_inertia_kg_m2(axis) : axis.rotor_inertia_kg_m2;
    const double viscous = rigid ? rotor_viscous + axis.load_viscous_Nms_rad : rotor_viscous;
    const double half_loss = 0.5 * h * viscous / inertia;
    b.rotor_keep[k] = (1.0 - half_loss) / (1.0 + half_loss);
    b.rotor_push[k] = h / inertia / (1.0 + half_loss);
    b.rotor_stick[k] = rigid ? b.rotor_push[k] * axis.coulomb_Nm : 0.0;
    b.rotor_bias_Nm[k] = rigid ? axis.gravity_Nm : 0.0;
    b.load_keep[k] = 1.0;
    if (rigid) return;
    const double half_load_loss = 0.5 * h * axis.load_viscous_Nms_rad / axis.load_inertia_kg_m2;
    b.stiffness_Nm_rad[k] = axis.stiffness_Nm_rad;
    b.damping_Nms_rad[k] = axis.coupling_damping_Nms_rad;
    b.load_keep[k] = (1.0 - half_load_loss) / (1.0 + half_load_loss);
    b.load_push[k] = h / axis.load_inertia_kg_m2 / (1.0 + half_load_loss);
    b.load_stick[k] = b.load_push[k] * axis.coulomb_Nm;
    b.load_bias_Nm[k] = axis.gravity_Nm;
}

/// The rotor in step at the start speed under this torque, currents at their references.
void set_rotor_state(Block& b, std::size_t k, const WindowRun& run, double motor_Nm) {
    const AxisDynamics& axis = *run.axis;
    const double share = std::clamp(motor_Nm / peak_torque_Nm(axis), -kSteadyShare, kSteadyShare);
    b.rate_rad_s[k] = run.start_rate_rad_s;
    b.angle_e_rad[k] = -std::asin(share) + b.teeth[k] * b.half_step_s[k] * run.start_rate_rad_s;
    b.sine[k] = std::sin(b.angle_e_rad[k]);
    b.cosine[k] = std::cos(b.angle_e_rad[k]);
    b.a.current_A[k] = axis.current_A;
    b.b.current_A[k] = 0.0;
    b.lost_step[k] = lanes::kNever;
    b.until_lost[k] = run.until_lost ? 1.0 : 0.0;
}

/// Steady motion in step at the start speed.
void set_state(Block& b, std::size_t k, const WindowRun& run, bool rigid) {
    const AxisDynamics& axis = *run.axis;
    const double rate = run.start_rate_rad_s;
    const double load_Nm =
        axis.coulomb_Nm * turning_sign(rate) + axis.load_viscous_Nms_rad * rate + axis.gravity_Nm;
    const double motor_Nm = load_Nm + axis.rotor_viscous_Nms_rad * run.viscous_factor * rate;
    set_rotor_state(b, k, run, motor_Nm);
    b.load_rate_rad_s[k] = rigid ? 0.0 : rate;
    if (!rigid)
        b.load_angle_rad[k] = b.angle_e_rad[k] * b.per_teeth[k] - load_Nm / axis.stiffness_Nm_rad;
}

/// Two motors of crossed belts in lanes k and k + 1: belts pull x + y and x - y, and each load gets half of both torques, since
/// inertia, friction and stiffness of a load are those that one of the two motors carries.
void cross(Block& b, std::size_t k) {
    for (const std::size_t lane : {k, k + 1}) {
        b.of_other[lane] = 1.0;
        b.of_own[lane] = lane == k ? 1.0 : -1.0;
        b.load_share[lane] = 0.5;
    }
}

/// Steady motion of both: as set_state, with the loads at the speeds that the two motors make together.
void set_crossed_state(Block& b, std::size_t k, const WindowRun& first, const WindowRun& second) {
    const double load_rate[] = {0.5 * (first.start_rate_rad_s + second.start_rate_rad_s),
                                0.5 * (first.start_rate_rad_s - second.start_rate_rad_s)};
    double load_Nm[2];
    for (std::size_t i = 0; i < 2; ++i) {
        const AxisDynamics& axis = i == 0 ? *first.axis : *second.axis;
        load_Nm[i] = axis.coulomb_Nm * turning_sign(load_rate[i]) +
                     axis.load_viscous_Nms_rad * load_rate[i] + axis.gravity_Nm;
    }
    const double belt_Nm[] = {load_Nm[0] + load_Nm[1], load_Nm[0] - load_Nm[1]};
    double belt_rad[2];
    for (std::size_t i = 0; i < 2; ++i) {
        const WindowRun& run = i == 0 ? first : second;
        const double motor_Nm = belt_Nm[i] + run.axis->rotor_viscous_Nms_rad * run.viscous_factor *
                                                 run.start_rate_rad_s;
        set_rotor_state(b, k + i, run, motor_Nm);
        belt_rad[i] =
            (b.angle_e_rad[k + i] * b.per_teeth[k + i]) - belt_Nm[i] / run.axis->stiffness_Nm_rad;
        b.load_rate_rad_s[k + i] = load_rate[i];
    }
    b.load_angle_rad[k] = 0.5 * (belt_rad[0] + belt_rad[1]);
    b.load_angle_rad[k + 1] = 0.5 * (belt_rad[0] - belt_rad[1]);
}

bool set_lane(Block& b, std::size_t k, const WindowRun& run, double step_s) {
    const bool rigid = is_rigid(*run.axis) || too_stiff(*run.axis, step_s);
    set_electrics(b, k, run, step_s);
    set_mechanics(b, k, run, rigid);
    set_state(b, k, run, rigid);
    return rigid;
}

/// The stiffest transmission that the step bears; a real one that is stiffer swings faster than anything that drives it.
double bearable_stiffness_Nm_rad(const AxisDynamics& axis, double step_s) {
    const double rate2 = kStiffestStep * kStiffestStep / (step_s * step_s) -
                         magnetic_stiffness_Nm_rad(axis) / axis.rotor_inertia_kg_m2;
    const double most =
        kBearableShare * rate2 / (1.0 / axis.rotor_inertia_kg_m2 + 1.0 / axis.load_inertia_kg_m2);
    return std::min(axis.stiffness_Nm_rad, most);
}

void set_crossed_lanes(Block& b, std::size_t k, const WindowRun& first, const WindowRun& second,
                       double step_s) {
    cross(b, k);
    for (std::size_t i = 0; i < 2; ++i) {
        const WindowRun& run = i == 0 ? first : second;
        set_electrics(b, k + i, run, step_s);
        set_mechanics(b, k + i, run, false);
        b.stiffness_Nm_rad[k + i] = bearable_stiffness_Nm_rad(*run.axis, step_s);
    }
    set_crossed_state(b, k, first, second);
}

/// What drives a block: the commands of its lanes, and the times at which each changes.
class Drive {
  public:
    void add(Block& b, std::size_t k, const WindowRun& run) {
        commands_.emplace_back(run);
        commands_.back().give(b, k, 0.0);
        next_s_[k] = commands_.back().next_s();
    }

    void read(Block& b, double step) {
        const lanes::Row now_s = step * b.step_s;
        for (std::size_t k = 0; k < kLanes; ++k) {
            if (next_s_[k] > now_s[k]) continue;
            commands_[k].give(b, k, now_s[k]);
            next_s_[k] = commands_[k].next_s();
        }
    }

  private:
    std::vector<Command> commands_;
    lanes::Row next_s_{};
};

/// All blocks in one go, since each waits for its own step before.
template <bool crossed, std::size_t kCount>
void advance(std::array<Block, kCount>& blocks, int chopper_sub_steps, bool traced = false) {
    for (Block& b : blocks)
        lanes::back_emf(b);
    if (chopper_sub_steps == 0) {
        for (Block& b : blocks) {
            lanes::dead_beat(b, b.a);
            lanes::dead_beat(b, b.b);
        }
    } else {
        lanes::chop(blocks, chopper_sub_steps, traced);
    }
    for (Block& b : blocks)
        lanes::move<crossed>(b);
}

int sub_steps_of(CurrentRegulator regulator, double step_s) {
    if (regulator == CurrentRegulator::dead_beat) return 0;
    return std::max(1, static_cast<int>(std::lround(step_s / kChopperSubStep_s)));
}

WindowOutcome outcome_of(const Block& b, std::size_t k, bool rigid) {
    WindowOutcome outcome;
    outcome.peak_load_angle_rad = b.peak_lag_rad[k];
    outcome.peak_time_s = b.peak_step[k] * b.step_s[k];
    outcome.end_rate_rad_s = b.final_rate_rad_s[k];
    outcome.transmission_rigid = rigid;
    if (!std::isfinite(b.final_lag_rad[k])) {  // numbers beyond the model: never a pass
        outcome.lost_synchronism = true;
        return outcome;
    }
    outcome.lost_synchronism = b.lost_step[k] < lanes::kNever;
    if (outcome.lost_synchronism) outcome.lost_time_s = b.lost_step[k] * b.step_s[k];
    outcome.lost_cycles =
        static_cast<int>(std::lround(b.final_lag_rad[k] / (2.0 * std::numbers::pi)));
    return outcome;
}

/// All blocks in one loop: each step waits for the one before, so none alone keeps the processor busy.
template <bool crossed, std::size_t kCount>
void run_steps(std::array<Block, kCount>& blocks, std::array<Drive, kCount>& drives,
               double last_step, int sub_steps) {
    const auto steps = static_cast<std::int64_t>(last_step);
    for (std::int64_t i = 0; i <= steps; ++i) {
        const auto step = static_cast<double>(i);
        for (std::size_t n = 0; n < kCount; ++n) {
            drives[n].read(blocks[n], step);
            lanes::judge(blocks[n], step);
        }
        if (i % kLookEvery == 0 && std::ranges::all_of(blocks, lanes::all_known)) return;
        advance<crossed>(blocks, sub_steps);
    }
}

#ifdef __x86_64__
/// The same once more for processors with registers of 256 bits.
template <bool crossed, std::size_t kCount>
[[gnu::target("avx2"), gnu::flatten]] void run_steps_wide(std::array<Block, kCount>& blocks,
                                                          std::array<Drive, kCount>& drives,
                                                          double last_step, int sub_steps) {
    run_steps<crossed>(blocks, drives, last_step, sub_steps);
}

bool has_wide_registers() {
    static const bool has = __builtin_cpu_supports("avx2") != 0;
    return has;
}
#endif

template <bool crossed, std::size_t kCount>
void run_all_steps(std::array<Block, kCount>& blocks, std::array<Drive, kCount>& drives,
                   double last_step, int sub_steps) {
#ifdef __x86_64__
    (has_wide_registers() ? run_steps_wide<crossed, kCount>
                          : run_steps<crossed, kCount>)(blocks, drives, last_step, sub_steps);
#else
    run_steps<crossed>(blocks, drives, last_step, sub_steps);
#endif
}

/// Windows of one kind that run side by side.
struct Group {
    std::array<std::size_t, kAtOnce> which{};  // runs
    std::size_t count = 0;
    double step_s = 0.0;
    bool crossed = false;  // two neighbours are one plant
};

/// Short groups repeat their last window, or last plant.
template <std::size_t kCount>
void run_blocks(std::span<const WindowRun> runs, std::span<WindowOutcome> outcomes,
                const Group& group) {
    std::array<Block, kCount> blocks;
    std::array<Drive, kCount> drives;
    std::array<bool, kCount * kLanes> rigid{};
    double last_step = 0.0;
    const std::size_t width = group.crossed ? 2 : 1;
    const auto run_of = [&](std::size_t k) -> const WindowRun& {
        return runs[group.which[k < group.count ? k : group.count - width + k % width]];
    };
    for (std::size_t i = 0; i < rigid.size(); ++i) {
        Block& block = blocks[i / kLanes];
        const std::size_t k = i % kLanes;
        if (!group.crossed)
            rigid[i] = set_lane(block, k, run_of(i), group.step_s);
        else if (k % 2 == 0)
            set_crossed_lanes(block, k, run_of(i), run_of(i + 1), group.step_s);
        drives[i / kLanes].add(block, k, run_of(i));
        last_step = std::max(last_step, static_cast<double>(block.last_step[k]));
    }
    const int sub_steps = sub_steps_of(run_of(0).regulator, group.step_s);
    (group.crossed ? run_all_steps<true, kCount>
                   : run_all_steps<false, kCount>)(blocks, drives, last_step, sub_steps);
    for (std::size_t i = 0; i < group.count; ++i)
        outcomes[group.which[i]] = outcome_of(blocks[i / kLanes], i % kLanes, rigid[i]);
}

void run_group(std::span<const WindowRun> runs, std::span<WindowOutcome> outcomes,
               const Group& group) {
    (group.count <= kLanes ? run_blocks<1> : run_blocks<kBlocks>)(runs, outcomes, group);
}

using StateSink = std::function<void(const MotorState&)>;

MotorState state_of(const Block& b, double time_s, bool rigid) {
    const double rotor_rad = (b.command_rad[0] - b.lag_rad[0]) * b.per_teeth[0];
    const double load_rad = b.load_angle_rad[0] - b.half_step_s[0] * b.load_rate_rad_s[0];
    return {time_s,
            rotor_rad,
            b.rate_rad_s[0],
            rigid ? rotor_rad : load_rad,
            rigid ? b.rate_rad_s[0] : b.load_rate_rad_s[0],
            b.a.current_A[0],
            b.b.current_A[0],
            b.a.voltage_V[0],
            b.b.voltage_V[0],
            b.lag_rad[0]};
}

void trace_steps(std::array<Block, 1>& blocks, Drive& drive, int sub_steps, bool rigid,
                 const StateSink& sink) {
    Block& block = blocks[0];
    for (std::int64_t i = 0;; ++i) {
        const auto step = static_cast<double>(i);
        drive.read(block, step);
        lanes::judge(block, step);
        if (i > 0) sink(state_of(block, step * block.step_s[0], rigid));
        if (step >= block.last_step[0]) return;
        advance<false>(blocks, sub_steps, true);
    }
}

#ifdef __x86_64__
[[gnu::target("avx2"), gnu::flatten]] void trace_steps_wide(std::array<Block, 1>& blocks,
                                                            Drive& drive, int sub_steps, bool rigid,
                                                            const StateSink& sink) {
    trace_steps(blocks, drive, sub_steps, rigid, sink);
}
#endif

}  // namespace

double integration_step_s(const AxisDynamics& axis, double top_rate_rad_s) {
    const bool fast = std::fabs(top_rate_rad_s) > kFastFromBaseSpeeds * base_rate_rad_s(axis);
    return fast ? kFastStep_s : kStep_s;
}

WindowOutcome simulate(const WindowRun& run) {
    WindowOutcome outcome;
    simulate({&run, 1}, {&outcome, 1});
    return outcome;
}

void simulate(std::span<const WindowRun> runs, std::span<WindowOutcome> outcomes) {
    struct Job {
        std::size_t index;
        double step_s, duration_s;
        CurrentRegulator regulator;
        bool crossed;
        auto kind() const { return std::tuple(regulator, step_s, crossed); }
        bool before(const Job& other) const {
            return kind() != other.kind() ? kind() < other.kind() : duration_s < other.duration_s;
        }
    };
    std::vector<Job> jobs;
    jobs.reserve(runs.size());
    for (std::size_t i = 0; i < runs.size(); ++i) {
        const WindowRun& run = runs[i];
        double step_s = integration_step_s(*run.axis, run.top_rate_rad_s);
        if (run.with_next)
            step_s =
                std::min(step_s, integration_step_s(*runs[i + 1].axis, runs[i + 1].top_rate_rad_s));
        jobs.push_back({i, step_s, run.duration_s, run.regulator, run.with_next});
        if (run.with_next) ++i;
    }
    std::stable_sort(jobs.begin(), jobs.end(),
                     [](const Job& a, const Job& b) { return a.before(b); });
    std::vector<Group> groups;
    for (std::size_t i = 0; i < jobs.size();) {
        const Job& first = jobs[i];
        Group& group = groups.emplace_back();
        group.step_s = first.step_s;
        group.crossed = first.crossed;
        for (; group.count < kAtOnce && i < jobs.size() && jobs[i].kind() == first.kind(); ++i) {
            group.which[group.count++] = jobs[i].index;
            if (group.crossed) group.which[group.count++] = jobs[i].index + 1;
        }
    }
    // Each group writes the outcomes of its own runs only: the same on any number of threads.
    tbb::parallel_for(std::size_t{0}, groups.size(),
                      [&](std::size_t i) { run_group(runs, outcomes, groups[i]); });
}

void for_each_state(const WindowRun& run, double step_s,
                    const std::function<void(const MotorState&)>& sink) {
    std::array<Block, 1> blocks;
    Drive drive;
    bool rigid = false;
    for (std::size_t k = 0; k < kLanes; ++k) {
        rigid = set_lane(blocks[0], k, run, step_s);
        drive.add(blocks[0], k, run);
    }
    const int sub_steps = sub_steps_of(run.regulator, step_s);
#ifdef __x86_64__
    if (has_wide_registers()) return trace_steps_wide(blocks, drive, sub_steps, rigid, sink);
#endif
    trace_steps(blocks, drive, sub_steps, rigid, sink);
}

std::vector<MotorState> trace(const WindowRun& run, double step_s) {
    std::vector<MotorState> states;
    for_each_state(run, step_s, [&](const MotorState& state) { states.push_back(state); });
    return states;
}

}  // namespace stepper_sim::dynamics
