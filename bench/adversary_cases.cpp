#include "bench/adversary_cases.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>
#include <string_view>

#include "bench/adversary_program.hpp"
#include "bench/random.hpp"
#include "stepper_sim/machine/read_parts.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::adversary {

namespace {

using bench::Random;

const std::filesystem::path kConfigs = STEPPER_SIM_CONFIGS;

// Parts by name, not what the folder holds: a part that is added later must not change the cases.
constexpr std::array<std::string_view, 14> kSmallMotors{
    "17hm19-2004s",      "17hs19-2004s1",     "17hs2408",          "17hs3401",         "17hs3410",
    "17hs4401",          "17hs4402",          "17hs8401",          "17hs8402",         "17hs8403",
    "qsh4218-35-10-027", "qsh4218-41-10-035", "qsh4218-47-28-040", "qsh4218-51-10-049"};
constexpr std::array<std::string_view, 5> kLargeMotors{"qsh5718-76-28-189", "qsh6018-45-28-110",
                                                       "qsh5718-41-28-055", "qsh5718-51-28-101",
                                                       "qsh5718-56-28-126"};
constexpr std::array<std::string_view, 10> kDrivers{"a4988",   "drv8825", "drv8880", "tb67s109a",
                                                    "l6474",   "tmc2100", "tmc2130", "tmc2208",
                                                    "tmc2209", "tmc5160"};

struct Parts {
    std::string motor, driver;
    motor::MotorConstants constants;
    int steps_per_turn = 200;
    double current_A = 1.0;  // RMS
    double supply_V = 24.0;
    int microsteps = 16;
    bool large = false;
};

struct AxisDraw {
    double mass_kg = 0.5, friction_N = 1.0, stiffness_N_mm = 50.0;
    double damping = 0.0;  // 0: not stated
};

/// A motor, a driver that may drive it, and settings that both stand.
Parts draw_parts(Random& random) {
    Parts parts;
    parts.large = random.chance(0.15);
    parts.motor = parts.large ? random.pick(kLargeMotors) : random.pick(kSmallMotors);
    const machine::MotorPart motor =
        machine::read_motor(kConfigs / "motors" / (parts.motor + ".toml")).value();
    for (;;) {
        parts.driver = random.pick(kDrivers);
        parts.supply_V = random.pick(std::array{12.0, 18.0, 24.0, 24.0, 24.0, 36.0});
        parts.microsteps = random.pick(std::array{1, 1, 2, 4, 8, 16, 16, 16, 32});
        const machine::DriverPart driver =
            machine::read_driver(kConfigs / "drivers" / (parts.driver + ".toml")).value();
        const double rated_A = motor.rated_current.rms().value();
        double most_A = rated_A;
        if (driver.current_max)
            most_A =
                std::min(most_A, driver.current_max->basis == machine::CurrentBasis::rms
                                     ? driver.current_max->value.value()
                                     : driver.current_max->value.value() / std::numbers::sqrt2);
        parts.current_A = most_A * random.between(0.6, 1.0);
        const bool offers = std::find(driver.microsteps.begin(), driver.microsteps.end(),
                                      parts.microsteps) != driver.microsteps.end();
        constexpr double kEnough = 0.5;  // of the rated current: less is a motor for another driver
        constexpr double kSpare_V = 1.0;
        const bool stands = parts.supply_V + kSpare_V < driver.supply_max.value() &&
                            parts.supply_V > driver.supply_min.value() &&
                            (!motor.max_supply || parts.supply_V <= motor.max_supply->value());
        if (offers && stands && parts.current_A >= kEnough * rated_A) break;
    }
    parts.constants = motor::motor_constants(motor);
    parts.steps_per_turn = motor.steps_per_turn;
    return parts;
}

AxisDraw draw_axis(Random& random, bool large) {
    AxisDraw axis;
    axis.mass_kg = random.between_logarithms(0.2, 1.5) * (large ? 2.0 : 1.0);
    axis.friction_N = random.between_logarithms(0.2, 8.0);
    axis.stiffness_N_mm = random.between_logarithms(10.0, 400.0);
    if (random.chance(0.4)) axis.damping = random.between_logarithms(0.01, 0.05);
    return axis;
}

/// What a motor on plates like these makes at a speed, for choosing accelerations only. Guess: 0.6 of the ideal.
double likely_torque_Nm(const Parts& parts, double rate_rad_s) {
    constexpr double kLikely = 0.6;
    return kLikely * motor::ideal_torque_Nm(parts.constants, std::numbers::sqrt2 * parts.current_A,
                                            parts.supply_V, rate_rad_s);
}

struct Draw {
    bool crossed = false;
    Parts parts;
    std::array<AxisDraw, 2> axis{};  // the second on crossed belts only
    double pitch_mm = 2.0;
    int teeth = 20;
    double speed_mm_s = 100.0, acceleration_mm_s2 = 1000.0, speed_step_mm_s = 5.0;
    double use = 0.3;

    double radius_m() const { return pitch_mm * 1e-3 * teeth / (2.0 * std::numbers::pi); }
};

/// The acceleration at which the motors use the share of torque that was drawn: crossed belts carry half of each load.
double acceleration_mm_s2(const Draw& draw) {
    const double r = draw.radius_m();
    const double share = draw.crossed ? 0.5 : 1.0;
    double mass_kg = 0.0, friction_N = 0.0;
    for (const AxisDraw& axis : draw.axis) {
        mass_kg = std::max(mass_kg, axis.mass_kg);
        friction_N = std::max(friction_N, axis.friction_N);
    }
    const double torque_Nm = likely_torque_Nm(draw.parts, draw.speed_mm_s * 1e-3 / r);
    const double left_Nm = draw.use * torque_Nm - share * friction_N * r;
    const double inertia = draw.parts.constants.rotor_inertia_kg_m2 / r + share * mass_kg * r;
    constexpr double kLeast_mm_s2 = 500.0, kMost_mm_s2 = 10e3;
    return std::clamp(1e3 * left_Nm / inertia, kLeast_mm_s2, kMost_mm_s2);
}

Draw draw_machine(Random& random) {
    Draw draw;
    draw.crossed = random.chance(0.45);
    draw.parts = draw_parts(random);
    draw.axis[0] = draw_axis(random, draw.parts.large);
    if (draw.crossed) {
        draw.axis[1] = draw_axis(random, draw.parts.large);
        // One belt drives both: much the same stiffness, if not quite.
        draw.axis[1].stiffness_N_mm =
            draw.axis[0].stiffness_N_mm * (random.chance(0.7) ? 1.0 : random.between(0.8, 1.25));
        constexpr double kHeaviest_kg = 3.0;  // a bridge with its head
        draw.axis[1].mass_kg =
            std::min(kHeaviest_kg, draw.axis[0].mass_kg * random.between_logarithms(0.8, 4.0));
    } else {
        draw.axis[1] = draw.axis[0];
    }
    draw.pitch_mm = draw.parts.large && random.chance(0.5) ? 3.0 : 2.0;
    draw.teeth = random.chance(0.75) ? 20 : 16;
    draw.speed_mm_s = random.between(60.0, 300.0);
    draw.speed_step_mm_s = random.between(2.0, 15.0);
    draw.use = random.chance(0.85) ? random.between(0.1, 0.6) : random.between(0.6, 1.2);
    draw.acceleration_mm_s2 = acceleration_mm_s2(draw);
    return draw;
}

std::string axis_text(const Draw& draw, char letter, const AxisDraw& axis) {
    const double steps_per_mm =
        draw.parts.steps_per_turn * draw.parts.microsteps / (draw.pitch_mm * draw.teeth);
    std::string text =
        fmt::format("\n[axes.{}]\ntravel = [\"0 mm\", \"{:.0f} mm\"]\n", letter, kTravel_mm);
    text += fmt::format("drive = {{ belt_pitch = \"{:.0f} mm\", pulley_teeth = {} }}\n",
                        draw.pitch_mm, draw.teeth);
    text += fmt::format("motor = \"motors/{}.toml\"\ndriver = \"drivers/{}.toml\"\n",
                        draw.parts.motor, draw.parts.driver);
    text += fmt::format("current = {{ rms = \"{:.3f} A\" }}\nsupply = \"{:.0f} V\"\n",
                        draw.parts.current_A, draw.parts.supply_V);
    text += fmt::format("microsteps = {}\n", draw.parts.microsteps);
    text += fmt::format("load = {{ mass = \"{:.3f} kg\", friction = \"{:.2f} N\" }}\n",
                        axis.mass_kg, axis.friction_N);
    text += fmt::format("stiffness = \"{:.2f} N/mm\"\n", axis.stiffness_N_mm);
    if (axis.damping > 0.0) text += fmt::format("damping = {:.4f}\n", axis.damping);
    text += fmt::format("settings = {{ steps_per_mm = {:.10g}, max_speed = \"{:.1f} mm/s\", ",
                        steps_per_mm, draw.speed_mm_s);
    text += fmt::format("max_acceleration = \"{:.0f} mm/s^2\", speed_step = \"{:.2f} mm/s\" }}\n",
                        draw.acceleration_mm_s2, draw.speed_step_mm_s);
    return text;
}

std::string machine_text(const Draw& draw, const std::string& name) {
    std::string text = fmt::format(
        "name = \"{}\"\nkinematics = \"{}\"\ncontroller = \"controllers/ideal.toml\"\n\n"
        "[planning]\ncorner = \"speed-step\"\nlookahead_moves = 32\narc_tolerance = \"0.02 mm\"\n",
        name, draw.crossed ? "crossed-belt" : "cartesian");
    text += axis_text(draw, 'x', draw.axis[0]);
    if (draw.crossed) text += axis_text(draw, 'y', draw.axis[1]);
    text += "\n[program]\nrapid = \"traverse\"\nunits = \"mm\"\n";
    const std::string y = draw.crossed ? fmt::format(", y = \"{:.0f} mm\"", kStart_mm) : "";
    text += fmt::format("start = {{ x = \"{:.0f} mm\"{} }}\n", kStart_mm, y);
    text += fmt::format("home = {{ x = \"{:.0f} mm\"{} }}\n", kStart_mm, y);
    return text;
}

Occasion occasion_of(const Draw& draw) {
    Occasion occasion;
    occasion.crossed = draw.crossed;
    occasion.speed_mm_s = draw.speed_mm_s;
    occasion.acceleration_mm_s2 = draw.acceleration_mm_s2;
    occasion.speed_step_mm_s = draw.speed_step_mm_s;
    occasion.full_step_mm = draw.pitch_mm * draw.teeth / draw.parts.steps_per_turn;
    occasion.microsteps = draw.parts.microsteps;
    const double r = draw.radius_m();
    const double share = draw.crossed ? 0.5 : 1.0;
    const motor::MotorConstants& motor = draw.parts.constants;
    constexpr double kLikely = 0.8;  // Guess: of the ideal torque, at small swings
    const double magnet = kLikely * motor.rotor_teeth * motor.torque_constant_Nm_A *
                          std::numbers::sqrt2 * draw.parts.current_A;
    const auto hz = [](double stiffness, double inertia) {
        return std::sqrt(stiffness / inertia) / (2.0 * std::numbers::pi);
    };
    for (std::size_t i = 0; i < 2; ++i) {
        const double belt = share * draw.axis[i].stiffness_N_mm * 1e3 * r * r;
        const double load = share * draw.axis[i].mass_kg * r * r;
        occasion.belt_hz[i] = hz(belt, load);
        occasion.rigid_hz[i] = hz(magnet, load + motor.rotor_inertia_kg_m2);
        occasion.series_hz[i] = hz(magnet * belt / (magnet + belt), load);
    }
    return occasion;
}

}  // namespace

Case draw_case(std::uint64_t seed, int number) {
    // Every case has a series of its own, so that one can be drawn without those before. Prime: seeds do not meet.
    constexpr std::uint64_t kApart = 1'000'003;
    Random random(seed * kApart + static_cast<std::uint64_t>(number));
    const Draw draw = draw_machine(random);
    Case result;
    result.name = fmt::format("adversary-{}-{}", seed, number);
    const double kind = random.between(0.0, 1.0);
    result.kind = kind < 0.4    ? Kind::zigzag
                  : kind < 0.6  ? Kind::infill
                  : kind < 0.7  ? Kind::cruise
                  : kind < 0.85 ? Kind::corners
                                : Kind::ripple;
    result.crossed = draw.crossed;
    result.microsteps = draw.parts.microsteps;
    result.machine = machine_text(draw, result.name);
    result.program = draw_program(random, result.kind, occasion_of(draw), result.about);
    return result;
}

}  // namespace stepper_sim::adversary
