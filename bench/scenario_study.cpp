/// Question: which slips of the full model does each cheaper layer of the checks miss, and how many harmless windows does it flag?
/// Run: scenario_study [seed [count]]; prints the confusion tables as markdown. The ratios at which the screen passes a move were fixed on
/// seed 1, the longest unconfirmed stretch above the base speed on seeds 1 and 2; seed 3 is the fresh sample.
/// Included: belt and screw axes, rigid and elastic, detent, friction, weight; starts and corners at a speed step, zig-zags around the
/// natural frequency, ramps near the torque limit, long cruises above the base speed; ideal pulses. Parts are drawn from typical plates.
/// Excluded: late and uneven pulses of real controllers, measured torque curves. "Slip" means a slip of the model, not of a machine.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <numbers>
#include <random>
#include <vector>

#include "bench/random.hpp"
#include "stepper_sim/dynamics/full_model.hpp"
#include "stepper_sim/dynamics/modal_screen.hpp"
#include "stepper_sim/motor/speed_step.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"

namespace {

using namespace stepper_sim;
using bench::Random;

constexpr double kSettle_s = 0.06;
constexpr double kLongestRamp_s = 0.4;  // keeps a scenario to about a second

enum Kind { start_step, corners, zigzag, ramps, fast_cruise, kinds };
constexpr std::array<const char*, kinds> kKindNames{"start at a speed step", "corners", "zig-zag",
                                                    "ramps", "long fast cruise"};

struct Scenario {
    Kind kind = start_step;
    dynamics::AxisDynamics axis;
    motor::MotorConstants motor;
    std::vector<dynamics::RatePhase> phases;
    std::vector<dynamics::StepEdge> edges;
    double duration_s = 0.0, top_rate_rad_s = 0.0;
};

struct Layers {
    double quasi_static = 0.0, jump = 0.0, modal = 0.0;
    bool long_fast_stretch = false, slips_dead_beat = false, slips_chopper = false;
};

void draw_axis(Random& random, Scenario& s) {
    const double holding_Nm = random.between_logarithms(0.15, 3.0);
    const double rated_A = random.between_logarithms(0.8, 4.0);  // RMS
    s.motor.torque_constant_Nm_A = holding_Nm / (std::numbers::sqrt2 * rated_A);
    s.motor.inductance_H = motor::kTypicalInductance_H_A2_Nm * holding_Nm / (rated_A * rated_A) *
                           random.between_logarithms(1.0 / 1.5, 1.5);
    s.motor.resistance_ohm =
        random.between_logarithms(4.0, 18.0) * holding_Nm / (rated_A * rated_A);
    s.motor.rotor_inertia_kg_m2 = random.between_logarithms(1.2e-5, 3.5e-5) * holding_Nm;
    s.motor.rotor_teeth = random.chance(0.8) ? 50 : 100;
    dynamics::AxisDynamics& axis = s.axis;
    axis.resistance_ohm = s.motor.resistance_ohm;
    axis.inductance_H = s.motor.inductance_H;
    axis.torque_constant_Nm_A = s.motor.torque_constant_Nm_A;
    axis.rotor_inertia_kg_m2 = s.motor.rotor_inertia_kg_m2;
    axis.rotor_teeth = s.motor.rotor_teeth;
    axis.current_A = std::numbers::sqrt2 * rated_A * random.between(0.6, 1.0);
    axis.supply_V = random.pick(std::array{12.0, 24.0, 24.0, 36.0, 48.0});
    axis.microsteps = static_cast<int>(random.pick(std::array{8.0, 16.0, 16.0, 32.0, 64.0}));
    axis.detent_torque_Nm = holding_Nm * random.between(0.0, 0.08);
    const double peak_Nm = dynamics::peak_torque_Nm(axis);
    axis.load_inertia_kg_m2 = axis.rotor_inertia_kg_m2 * random.between_logarithms(0.3, 20.0);
    axis.coulomb_Nm = peak_Nm * random.between_logarithms(0.02, 0.3);
    axis.gravity_Nm = random.chance(0.15) ? peak_Nm * random.between(0.05, 0.3) : 0.0;
    axis.rotor_viscous_Nms_rad =
        dynamics::kDefaultViscousShare_s * peak_Nm * random.between_logarithms(1.0 / 3.0, 3.0);
    if (random.chance(0.15)) return;  // rigid
    const double load_rad_s = 2.0 * std::numbers::pi * random.between_logarithms(20.0, 200.0);
    axis.stiffness_Nm_rad = axis.load_inertia_kg_m2 * load_rad_s * load_rad_s;
    axis.coupling_damping_Nms_rad =
        dynamics::coupling_damping_for(axis, random.between_logarithms(0.01, 0.05));
}

void move_by(Scenario& s, double from, double to, double accel_rad_s2) {
    accel_rad_s2 = std::max(accel_rad_s2, std::fabs(to - from) / kLongestRamp_s);
    if (from != to)
        s.phases.push_back(
            {std::fabs(to - from) / accel_rad_s2, from, to > from ? accel_rad_s2 : -accel_rad_s2});
}

void cruise(Scenario& s, double rate, double seconds) {
    s.phases.push_back({seconds, rate, 0.0});
}

/// Up, steady, down.
void trapezoid(Scenario& s, double rate, double accel_rad_s2, double seconds, double step) {
    const double start = std::min(step, std::fabs(rate)) * (rate > 0.0 ? 1.0 : -1.0);
    move_by(s, start, rate, accel_rad_s2);
    cruise(s, rate, seconds);
    move_by(s, rate, start, accel_rad_s2);
}

void draw_program(Random& random, Scenario& s) {
    const double inertia = dynamics::total_inertia_kg_m2(s.axis);
    const double largest_accel = dynamics::peak_torque_Nm(s.axis) / inertia;
    const double accel = largest_accel * random.between(0.03, 1.1);
    const double corner = dynamics::base_rate_rad_s(s.axis);
    const double jump =
        motor::speed_step_rad_s(dynamics::peak_torque_Nm(s.axis), inertia, s.axis.rotor_teeth, 0.0);
    const double speed = corner * random.between(0.15, 1.3);
    if (s.kind == start_step) {
        trapezoid(s, speed, accel, random.between(0.05, 0.2), jump * random.between(0.1, 1.4));
    } else if (s.kind == corners) {
        double rate = 0.0;
        const double step = jump * random.between(0.05, 0.7);
        for (int i = 0; i < 12; ++i) {
            const double peak = speed * random.between(-1.0, 1.0);
            const double enter =
                std::clamp(rate + random.between(-step, step), -std::fabs(speed), std::fabs(speed));
            move_by(s, enter, peak, accel);
            cruise(s, peak, random.between(0.002, 0.04));
            rate = peak * random.between(0.0, 1.0);
            move_by(s, peak, rate, accel);
        }
        move_by(s, rate, 0.0, accel);
    } else if (s.kind == zigzag) {
        const double natural = dynamics::vibration_modes(s.axis).mode[0].rate_rad_s;
        const double half_period_s =
            std::numbers::pi / (natural * random.between_logarithms(0.5, 2.0));
        const double top = std::min(0.5 * accel * half_period_s, corner);
        const double step = random.chance(0.5) ? top * random.between(0.0, 0.6) : 0.0;
        const int reversals = static_cast<int>(random.between(3.0, 24.0));
        for (int i = 0; i < reversals; ++i) {
            const double sign = i % 2 == 0 ? 1.0 : -1.0;
            const double ramp_s = (top - step) / accel;
            move_by(s, sign * step, sign * top, accel);
            if (half_period_s > 2.0 * ramp_s) cruise(s, sign * top, half_period_s - 2.0 * ramp_s);
            move_by(s, sign * top, sign * step, accel);
        }
    } else if (s.kind == ramps) {
        trapezoid(s, corner * random.between(0.3, 1.6), accel, random.between(0.01, 0.15), 0.0);
        s.phases.push_back({random.between(0.0, 0.05), 0.0, 0.0});
        trapezoid(s, -corner * random.between(0.3, 1.6), accel, random.between(0.01, 0.15), 0.0);
    } else {
        const double gentle = largest_accel * random.between(0.03, 0.3);
        trapezoid(s, corner * random.between(1.05, 3.0), gentle, random.between(0.25, 0.6), 0.0);
    }
}

Scenario draw_scenario(Random& random, int index) {
    Scenario s;
    s.kind = static_cast<Kind>(index % kinds);
    draw_axis(random, s);
    draw_program(random, s);
    for (const dynamics::RatePhase& phase : s.phases) {
        s.duration_s += phase.duration_s;
        s.top_rate_rad_s = std::max({s.top_rate_rad_s, std::fabs(phase.start_rate_rad_s),
                                     std::fabs(phase.end_rate_rad_s())});
    }
    s.duration_s += kSettle_s;
    s.edges = dynamics::ideal_edges(s.phases, dynamics::microstep_angle_rad(s.axis));
    return s;
}

double available_Nm(const Scenario& s, double rate) {
    return motor::average_torque_Nm(s.motor, s.axis.current_A, s.axis.supply_V, std::fabs(rate));
}

/// Steady torque asked at one instant, over torque available.
double static_use(const Scenario& s, double rate, double accel, double direction) {
    const double asked_Nm = dynamics::total_inertia_kg_m2(s.axis) * accel +
                            s.axis.rotor_viscous_Nms_rad * rate + s.axis.coulomb_Nm * direction +
                            s.axis.gravity_Nm;
    return std::fabs(asked_Nm) / std::max(available_Nm(s, rate), 1e-9);
}

Layers judge_cheaply(const Scenario& s) {
    Layers layers;
    dynamics::ModalScreen screen(
        s.axis, dynamics::TorqueTable([&s](double rate) { return available_Nm(s, rate); },
                                      1.05 * s.top_rate_rad_s + 1.0));
    double rate = 0.0;
    for (const dynamics::RatePhase& phase : s.phases) {
        const double end = phase.end_rate_rad_s();
        const double direction = phase.start_rate_rad_s + end > 0.0 ? 1.0 : -1.0;
        const double entry =
            static_use(s, phase.start_rate_rad_s, phase.acceleration_rad_s2, direction);
        layers.quasi_static = std::max(
            {layers.quasi_static, entry, static_use(s, end, phase.acceleration_rad_s2, direction)});
        const double largest_rad_s = motor::speed_step_rad_s(
            available_Nm(s, phase.start_rate_rad_s), dynamics::total_inertia_kg_m2(s.axis),
            s.axis.rotor_teeth, entry);
        const double jump = std::fabs(phase.start_rate_rad_s - rate);
        if (jump > 1e-9) layers.jump = std::max(layers.jump, jump / std::max(largest_rad_s, 1e-9));
        rate = end;
        screen.phase(phase);
    }
    screen.rest(kSettle_s);
    const dynamics::MoveScreen whole = screen.end_move();
    layers.jump = std::max(layers.jump, layers.quasi_static);
    layers.modal = whole.ratio;
    layers.long_fast_stretch = whole.fast_stretch_s > dynamics::kLongFastStretch_s;
    return layers;
}

struct Table {
    int slips = 0, missed = 0, false_alarms = 0, harmless = 0;
};

template <class Flag, class Slip>
Table count(const std::vector<Layers>& all, Flag flag, Slip slip) {
    Table t;
    for (const Layers& layers : all) {
        const bool flagged = flag(layers);
        if (slip(layers)) {
            ++t.slips;
            if (!flagged) ++t.missed;
        } else {
            ++t.harmless;
            if (flagged) ++t.false_alarms;
        }
    }
    return t;
}

template <class Flag>
void print_row(const char* name, const std::vector<Layers>& all, Flag flag) {
    const Table dead = count(all, flag, [](const Layers& l) { return l.slips_dead_beat; });
    const Table chop = count(all, flag, [](const Layers& l) { return l.slips_chopper; });
    std::printf("| %s | %d of %d | %d of %d | %d of %d | %.0f %% |\n", name, dead.missed,
                dead.slips, chop.missed, chop.slips, dead.false_alarms, dead.harmless,
                100.0 * (chop.harmless - chop.false_alarms) / std::max(chop.harmless, 1));
}

void print(const std::vector<Layers>& all) {
    std::printf(
        "| layer | dead-beat slips missed | chopper slips missed | false alarms (dead-beat) | "
        "harmless (chopper) that pass |\n|---|---|---|---|---|\n");
    print_row("quasi-static torque", all, [](const Layers& l) { return l.quasi_static >= 1.0; });
    print_row("... or speed-step formula", all, [](const Layers& l) { return l.jump >= 1.0; });
    print_row("modal ratio 1.00", all, [](const Layers& l) { return l.modal >= 1.0; });
    print_row("modal ratio 0.85", all, [](const Layers& l) { return l.modal >= 0.85; });
    print_row("modal ratio 0.70", all, [](const Layers& l) { return l.modal >= 0.70; });
    print_row("modal 0.85 or long fast stretch", all,
              [](const Layers& l) { return l.modal >= 0.85 || l.long_fast_stretch; });
    print_row("modal 0.70 or long fast stretch", all,
              [](const Layers& l) { return l.modal >= 0.70 || l.long_fast_stretch; });
}

double cpu_s() {
    return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

void run_full(const std::vector<Scenario>& scenarios, std::vector<Layers>& layers,
              dynamics::CurrentRegulator regulator) {
    std::vector<dynamics::WindowRun> runs;
    for (const Scenario& s : scenarios)
        runs.push_back({&s.axis, s.edges, s.duration_s, 0.0, s.top_rate_rad_s, regulator, 1.0});
    std::vector<dynamics::WindowOutcome> outcomes(runs.size());
    dynamics::simulate(runs, outcomes);
    for (std::size_t i = 0; i < runs.size(); ++i)
        (regulator == dynamics::CurrentRegulator::dead_beat ? layers[i].slips_dead_beat
                                                            : layers[i].slips_chopper) =
            outcomes[i].slipped();
}

}  // namespace

int main(int argc, char** argv) {
    const auto seed = static_cast<std::uint64_t>(argc > 1 ? std::atoll(argv[1]) : 1);
    const int total = argc > 2 ? std::atoi(argv[2]) : 4000;
    Random random(seed);
    std::vector<Scenario> scenarios;
    for (int i = 0; i < total; ++i)
        scenarios.push_back(draw_scenario(random, i));
    double simulated_s = 0.0;
    for (const Scenario& s : scenarios)
        simulated_s += s.duration_s;

    std::vector<Layers> layers;
    double start_s = cpu_s();
    for (const Scenario& s : scenarios)
        layers.push_back(judge_cheaply(s));
    const double cheap_s = cpu_s() - start_s;
    start_s = cpu_s();
    run_full(scenarios, layers, dynamics::CurrentRegulator::dead_beat);
    const double dead_beat_s = cpu_s() - start_s;
    start_s = cpu_s();
    run_full(scenarios, layers, dynamics::CurrentRegulator::mixed_decay);
    const double chopper_s = cpu_s() - start_s;

    std::printf("## %d scenarios, seed %llu\n\n", total, static_cast<unsigned long long>(seed));
    print(layers);
    for (int kind = 0; kind < kinds; ++kind) {
        std::vector<Layers> part;
        for (std::size_t i = 0; i < layers.size(); ++i)
            if (scenarios[i].kind == kind) part.push_back(layers[i]);
        std::printf("\n### %s\n\n", kKindNames[static_cast<std::size_t>(kind)]);
        print(part);
    }
    std::printf(
        "\n%.0f simulated s; us CPU per simulated s: cheap layers %.0f, dead-beat %.0f, chopper "
        "%.0f\n",
        simulated_s, 1e6 * cheap_s / simulated_s, 1e6 * dead_beat_s / simulated_s,
        1e6 * chopper_s / simulated_s);
    return 0;
}
