#include "bench/adversary_self_check.hpp"

#include <cmath>
#include <cstdio>
#include <numbers>
#include <vector>

#include "bench/adversary_model.hpp"

namespace stepper_sim::adversary {

namespace {

constexpr double kFineStep_s =
    2e-6;  // a tenth of the study's: its own error is then no part of the answer
constexpr double kSmallSwing_rad =
    0.05;  // electrical; the pendulum's period is 1.0002 times that of a small swing
constexpr double kSmallSwing_m = 1e-5;  // of a load on a belt

/// The part of the answer that a regulator of 45 us and the swing's own size may change.
constexpr double kPercent = 0.01;

/// A motor of frame 17, round figures, on a belt if asked.
Motor plain_motor() {
    Motor motor;
    motor.resistance_ohm = 1.5;
    motor.inductance_H = 3e-3;
    motor.torque_constant_Nm_A = 0.2;
    motor.current_A = 1.5;
    motor.supply_V = 24.0;
    motor.inertia_kg_m2 = 6e-6;
    motor.radius_m = 6.4e-3;
    return motor;
}

/// One whose rotor does not give: for loads on their belts alone.
Motor stiff_motor(double belt_N_m) {
    Motor motor = plain_motor();
    motor.inertia_kg_m2 = 1e3;
    motor.belt_N_m = belt_N_m;
    return motor;
}

Plant one(const Motor& motor, const Load& load = {}) {
    Plant plant;
    plant.motor[0] = motor;
    plant.load[0] = load;
    return plant;
}

Moment at_rest(const Plant& plant) {
    Moment moment;
    for (std::size_t m = 0; m < 2; ++m)
        moment.current_a_A[m] = plant.motor[m].current_A;
    return moment;
}

/// Mean rate of a swing about zero, from its upward crossings.
template <class Value>
double swing_rad_s(const Plant& plant, const Moment& start, double seconds, Value value) {
    double before = 0.0, first_s = -1.0, last_s = -1.0;
    int crossings = 0;
    bool any = false;
    watch(plant, start, seconds, kFineStep_s, [&](double time_s, const Moment& now) {
        const double here = value(now);
        if (any && before < 0.0 && here >= 0.0) {
            last_s = time_s - kFineStep_s * here / (here - before);
            if (crossings++ == 0) first_s = last_s;
        }
        before = here;
        any = true;
    });
    return crossings < 2 ? 0.0 : 2.0 * std::numbers::pi * (crossings - 1) / (last_s - first_s);
}

struct Ledger {
    int missed = 0;

    void near(const char* what, double found, double expected, double share) {
        const bool holds = std::fabs(found - expected) <= share * std::fabs(expected);
        std::printf("%-50s %10.5g %10.5g  %s\n", what, found, expected, holds ? "ok" : "MISSED");
        if (!holds) ++missed;
    }
    void is(const char* what, bool holds) {
        std::printf("%-72s  %s\n", what, holds ? "ok" : "MISSED");
        if (!holds) ++missed;
    }
};

void check_swings(Ledger& ledger) {
    Plant rotor = one(plain_motor());
    Moment start = at_rest(rotor);
    start.angle_rad[0] = kSmallSwing_rad / rotor.motor[0].teeth;
    const auto angle = [](const Moment& now) { return now.angle_rad[0]; };
    const double magnet = rotor.motor[0].teeth * rotor.motor[0].peak_torque_Nm();
    const double inertia = rotor.motor[0].inertia_kg_m2;
    ledger.near("rotor alone: sqrt(Nr T0/J), rad/s", swing_rad_s(rotor, start, 0.2, angle),
                std::sqrt(magnet / inertia), kPercent);
    rotor.motor[0].torque_factor = 0.6;
    ledger.near("... at 0.6 of the torque", swing_rad_s(rotor, start, 0.2, angle),
                std::sqrt(0.6 * magnet / inertia), kPercent);
    rotor.motor[0].torque_factor = 1.0;
    rotor.motor[0].detent_Nm = 0.02;
    ledger.near("... with detent: sqrt((Nr T0 + 4 Nr Td)/J)", swing_rad_s(rotor, start, 0.2, angle),
                std::sqrt((magnet + 4.0 * rotor.motor[0].teeth * 0.02) / inertia), kPercent);

    const auto x = [](const Moment& now) { return now.position_m[0]; };
    const auto y = [](const Moment& now) { return now.position_m[1]; };
    const Plant load = one(stiff_motor(40e3), {0.5, 0.0, 0.0});
    Moment pulled = at_rest(load);
    pulled.position_m[0] = kSmallSwing_m;
    ledger.near("load on its belt: sqrt(k/m), rad/s", swing_rad_s(load, pulled, 0.5, x),
                std::sqrt(40e3 / 0.5), kPercent);
    Plant crossed = load;
    crossed.motors = 2;
    crossed.motor[0].belt_N_m = crossed.motor[1].belt_N_m = 20e3;  // halves of 40 N/mm
    crossed.motor[1] = crossed.motor[0];
    crossed.load[1] = {1.2, 0.0, 0.0};
    pulled.current_a_A[1] = pulled.current_a_A[0];
    pulled.position_m[1] = kSmallSwing_m;
    ledger.near("crossed belts, x: sqrt(k/mx)", swing_rad_s(crossed, pulled, 0.5, x),
                std::sqrt(40e3 / 0.5), kPercent);
    ledger.near("crossed belts, y: sqrt(k/my)", swing_rad_s(crossed, pulled, 0.5, y),
                std::sqrt(40e3 / 1.2), kPercent);
}

/// Two masses of rotor and load in series: the lower root of the textbook's quadratic.
void check_two_masses(Ledger& ledger) {
    Motor motor = plain_motor();
    motor.belt_N_m = 30e3;
    const Plant plant = one(motor, {0.6, 0.0, 0.0});
    const double magnet = motor.teeth * motor.peak_torque_Nm();
    const double belt = motor.belt_N_m * motor.radius_m * motor.radius_m;
    const double load = 0.6 * motor.radius_m * motor.radius_m;
    const double sum = (magnet + belt) / motor.inertia_kg_m2 + belt / load;
    const double product = magnet * belt / (motor.inertia_kg_m2 * load);
    const double lower = 0.5 * (sum - std::sqrt(sum * sum - 4.0 * product));
    const double shape = 1.0 - lower * load / belt;  // rotor over load in that mode
    Moment start = at_rest(plant);
    start.position_m[0] = kSmallSwing_m;
    start.angle_rad[0] = shape * kSmallSwing_m / motor.radius_m;
    ledger.near("rotor and load: lower mode, rad/s",
                swing_rad_s(plant, start, 0.5, [](const Moment& now) { return now.position_m[0]; }),
                std::sqrt(lower), kPercent);
}

void check_holding(Ledger& ledger) {
    Motor motor = plain_motor();
    motor.belt_N_m = 30e3;
    motor.belt_Ns_m = 60.0;  // so that it comes to rest
    motor.viscous_Nms_rad = 2e-3;
    const double most_N = motor.peak_torque_Nm() / motor.radius_m;
    for (const double share : {0.5, 0.95, 1.05}) {
        // Pulled from the far side: a pull that begins at once at rest would overshoot.
        Plant plant = one(motor, {0.3, 0.0, share * most_N});
        Moment start = at_rest(plant);
        const double held_rad = std::asin(std::min(share, 1.0)) / motor.teeth;
        start.angle_rad[0] = held_rad;
        start.position_m[0] = held_rad * motor.radius_m + share * most_N / motor.belt_N_m;
        double angle_rad = 0.0;
        watch(plant, start, 1.0, kStep_s,
              [&](double, const Moment& now) { angle_rad = motor.teeth * now.angle_rad[0]; });
        if (share < 1.0)
            ledger.near("held at asin(T/T0), rad", angle_rad, std::asin(share), kPercent);
        else
            ledger.is("1.05 T0 is not held", angle_rad > 2.0 * std::numbers::pi);
    }
}

/// Without friction and damping, at ideal current, what is in rotor, load, belt and magnet stays.
void check_energy(Ledger& ledger) {
    Motor motor = plain_motor();
    motor.belt_N_m = 30e3;
    motor.supply_V = 1e4;  // never short of it
    const Plant plant = one(motor, {0.4, 0.0, 0.0});
    Moment start = at_rest(plant);
    start.angle_rad[0] = 1.0 / motor.teeth;
    start.position_m[0] = -0.5 * motor.radius_m / motor.teeth;
    const auto energy_J = [&](const Moment& s) {
        const double stretch_m = motor.radius_m * s.angle_rad[0] - s.position_m[0];
        return 0.5 * motor.inertia_kg_m2 * s.rate_rad_s[0] * s.rate_rad_s[0] +
               0.5 * 0.4 * s.speed_m_s[0] * s.speed_m_s[0] +
               0.5 * motor.belt_N_m * stretch_m * stretch_m +
               motor.peak_torque_Nm() / motor.teeth *
                   (1.0 - std::cos(motor.teeth * s.angle_rad[0]));
    };
    double last_J = 0.0;
    watch(plant, start, 1.0, kStep_s, [&](double, const Moment& now) { last_J = energy_J(now); });
    ledger.near("energy after 1 s of swing at the study's step, J", last_J, energy_J(start),
                kPercent);
}

/// A load on a spring with dry friction loses 4 F/k of its amplitude in every swing.
void check_friction(Ledger& ledger) {
    const double belt_N_m = 40e3, friction_N = 2.0, amplitude_m = 4e-3;
    const Plant plant = one(stiff_motor(belt_N_m), {0.5, friction_N, 0.0});
    Moment start = at_rest(plant);
    start.position_m[0] = amplitude_m;
    std::vector<double> peaks_m;
    double before = 0.0;
    double speed_before = 0.0;
    watch(plant, start, 0.2, kStep_s, [&](double, const Moment& now) {
        if (speed_before > 0.0 && now.speed_m_s[0] <= 0.0) peaks_m.push_back(before);
        before = now.position_m[0];
        speed_before = now.speed_m_s[0];
    });
    const double lost_m = peaks_m.size() < 5 ? 0.0 : (amplitude_m - peaks_m[4]) / 5.0;
    ledger.near("amplitude lost to dry friction in a swing, m", lost_m, 4.0 * friction_N / belt_N_m,
                kPercent);
}

/// Held rotor, current switched on: the supply drives it up as (V/R)(1 - exp(-t R/L)) until the regulator takes over.
void check_current(Ledger& ledger) {
    const Plant plant = one(stiff_motor(0.0));
    const Motor& motor = plant.motor[0];
    const double at_s = 100e-6;
    double current_A = 0.0, end_A = 0.0;
    watch(plant, Moment{}, 2e-3, kFineStep_s, [&](double time_s, const Moment& now) {
        if (time_s <= at_s + 0.5 * kFineStep_s) current_A = now.current_a_A[0];
        end_A = now.current_a_A[0];
    });
    ledger.near("current after 100 us on the supply, A", current_A,
                motor.supply_V / motor.resistance_ohm *
                    (1.0 - std::exp(-at_s * motor.resistance_ohm / motor.inductance_H)),
                1e-3);  // the integrator's error at a step of 2 us is far below
    ledger.near("... and regulated after 2 ms, A", end_A, motor.current_A, 1e-3);
}

/// A rotor that coasts with its windings on a supply of zero volts is braked by what its copper burns: emf and torque belong together.
void check_braking(Ledger& ledger) {
    Plant plant = one(plain_motor());
    Motor& motor = plant.motor[0];
    motor.supply_V = 0.0;
    motor.inertia_kg_m2 = 1e-3;
    Moment start;
    start.rate_rad_s[0] = 40.0;
    double burnt_J = 0.0;
    Moment last = start;
    const auto copper_W = [&](const Moment& s) {
        return motor.resistance_ohm *
               (s.current_a_A[0] * s.current_a_A[0] + s.current_b_A[0] * s.current_b_A[0]);
    };
    const auto kept_J = [&](const Moment& s) {
        return 0.5 * motor.inertia_kg_m2 * s.rate_rad_s[0] * s.rate_rad_s[0] +
               0.5 * motor.inductance_H / motor.resistance_ohm * copper_W(s);
    };
    watch(plant, start, 0.05, kFineStep_s, [&](double, const Moment& now) {
        burnt_J += 0.5 * (copper_W(last) + copper_W(now)) * kFineStep_s;
        last = now;
    });
    ledger.near("energy of a braked rotor: copper loss, J", burnt_J, kept_J(start) - kept_J(last),
                1e-3);  // trapezoid over 2 us
    ledger.is("... which takes a tenth of it at least", burnt_J > 0.1 * kept_J(start));
}

/// Crossed belts that move along x alone: two equal motors share the load as one motor of half the mass.
void check_crossed(Ledger& ledger) {
    Motor motor = plain_motor();
    motor.belt_N_m = 20e3;
    motor.belt_Ns_m = 5.0;
    motor.viscous_Nms_rad = 1e-4;
    Plant crossed;
    crossed.motors = 2;
    crossed.motor = {motor, motor};
    crossed.load = {Load{0.8, 3.0, 0.0}, Load{1.1, 1.0, 0.0}};
    const Plant half = one(motor, {0.4, 1.5, 0.0});
    std::vector<Pulse> both, alone;
    for (int i = 0; i < 400; ++i) {
        const double time_s = i * 150e-6;  // a step start of 83 mm/s
        alone.push_back({time_s, 0, 1.0});
        both.push_back({time_s, 0, 1.0});
        both.push_back({time_s, 1, 1.0});
    }
    const double lag = run(crossed, both).peak_lag_rad;
    ledger.near("crossed belts along x: lag of half the load alone", lag,
                run(half, alone).peak_lag_rad, 1e-6);  // rounding
    ledger.is("... which is not nothing, nor a slip", lag > 0.1 && lag < 2.0 * std::numbers::pi);
}

/// At a speed step of a start the rotor follows up to 2 wn/Nr and no further (rigid, no load).
void check_start(Ledger& ledger) {
    Motor motor = plain_motor();
    motor.microsteps = 64.0;  // near enough to a smooth command
    motor.supply_V = 1e4;
    const Plant plant = one(motor);
    const double most_rad_s =
        2.0 * std::sqrt(motor.peak_torque_Nm() / (motor.inertia_kg_m2 * motor.teeth));
    const auto slips = [&](double share) {
        std::vector<Pulse> pulses;
        const double pulses_s = share * most_rad_s * motor.teeth / motor.step_rad();
        for (int i = 0; i < 4000; ++i)
            pulses.push_back({i / pulses_s, 0, 1.0});
        const Answer answer = run(plant, pulses, kFineStep_s);
        return answer.slipped && answer.time_s < pulses.back().time_s;  // not at the sudden stop
    };
    ledger.is("a start at 0.97 of 2 sqrt(T0/(J Nr)) holds", !slips(0.97));
    ledger.is("a start at 1.03 of it slips", slips(1.03));
}

}  // namespace

int self_check() {
    std::printf("%-50s %10s %10s\n", "", "found", "expected");
    Ledger ledger;
    check_swings(ledger);
    check_two_masses(ledger);
    check_holding(ledger);
    check_energy(ledger);
    check_friction(ledger);
    check_current(ledger);
    check_braking(ledger);
    check_crossed(ledger);
    check_start(ledger);
    return ledger.missed;
}

}  // namespace stepper_sim::adversary
