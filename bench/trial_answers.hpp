/// Random one-axis machines with a hidden truth that answers trials: for trial_study.cpp and its small version among the tests.
/// The truth is the full model of the same machine with its uncertain numbers drawn anew: friction, mass, stiffness, supply, bearing
/// friction, damping and running factor, even within the bands of dynamics/spread.hpp and of the motor's torque curve. The fit moves
/// only four of these seven, with normal spreads: it has to explain the others by them.
#pragma once

#include <cmath>
#include <filesystem>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "bench/random.hpp"
#include "stepper_sim/dynamics/spread.hpp"
#include "stepper_sim/machine/read_machine.hpp"
#include "stepper_sim/trial/fit.hpp"
#include "stepper_sim/trial/trial.hpp"

namespace trial_answers {

using namespace stepper_sim;
using bench::Random;

/// A belt axis with a motor of the catalogue; its settings are modest.
inline std::string machine_text(Random& random) {
    static const std::vector<std::string> kMotors{
        "17hs3401",          "17hs4401",          "17hs8401",          "17hs19-2004s1",
        "qsh4218-35-10-027", "qsh4218-41-10-035", "qsh4218-47-28-040", "qsh4218-51-10-049",
        "qsh5718-41-28-055", "qsh5718-51-28-101", "23hs22-2804s"};
    static const std::vector<int> kTeeth{16, 20, 20, 30};
    static const std::vector<int> kVolts{12, 24, 24, 36};
    const bool elastic = random.chance(0.8);
    const double mass_kg = random.between_logarithms(0.2, 2.0);
    const double load_Hz = random.between_logarithms(20.0, 90.0);
    const auto number = [](double value) { return std::to_string(value); };
    std::string text =
        "name = \"random\"\nkinematics = \"cartesian\"\ncontroller = \"controllers/ideal.toml\"\n"
        "[planning]\ncorner = \"speed-step\"\nlookahead_moves = 16\narc_tolerance = \"0.01 mm\"\n"
        "[axes.x]\ntravel = [\"0 mm\", \"" +
        number(random.between(150.0, 400.0)) + " mm\"]\n";
    text +=
        "drive = { belt_pitch = \"2 mm\", pulley_teeth = " + std::to_string(random.pick(kTeeth)) +
        " }\n";
    text +=
        "motor = \"motors/" + random.pick(kMotors) + ".toml\"\ndriver = \"drivers/tmc2209.toml\"\n";
    text += "current = { rms = \"" + number(random.between(0.7, 1.3)) + " A\" }\n";
    text += "supply = \"" + std::to_string(random.pick(kVolts)) + " V\"\nmicrosteps = 16\n";
    text += "load = { mass = \"" + number(mass_kg) + " kg\", friction = \"" +
            number(random.between_logarithms(1.0, 6.0)) + " N\" }\n";
    if (elastic)
        text += "stiffness = \"" +
                number(mass_kg * std::pow(2.0 * 3.14159265 * load_Hz, 2.0) * 1e-3) + " N/mm\"\n";
    text += "settings = { steps_per_mm = 80, max_speed = \"" + number(random.between(60.0, 200.0)) +
            " mm/s\", max_acceleration = \"" + number(random.between(800.0, 2500.0)) +
            " mm/s^2\", speed_step = \"5 mm/s\" }\n";
    return text;
}

inline std::optional<machine::Machine> draw_machine(Random& random,
                                                    const std::filesystem::path& configs) {
    auto machine = machine::read_machine_text(machine_text(random), "random.toml", {configs});
    if (!machine) return std::nullopt;
    return std::move(machine).value();
}

/// The hidden machine: a draw over all that is uncertain.
inline dynamics::AxisDynamics hidden_truth(const machine::Machine& machine,
                                           const run::MotorModels& models, std::uint64_t seed,
                                           std::uint64_t draw) {
    const motor::AvailableTorque& available = models.available[0];
    dynamics::Spread spread;
    spread.torque_low_factor = available.low_Nm(0.0) / available.nominal_Nm(0.0);
    spread.torque_high_factor = available.high_Nm(0.0) / available.nominal_Nm(0.0);
    return dynamics::draw_axis(trial::trial_prior(machine, models, 0).nominal, spread, seed, draw);
}

/// The sheet as an operator would fill it in who stops at the first loss; in a resonance trial the loudest rung is marked.
inline trial::TrialSheet answered(const trial::Trial& trial, const dynamics::AxisDynamics& truth,
                                  const std::string& name) {
    trial::TrialSheet sheet;
    sheet.file = name;
    sheet.letter = trial.letter;
    sheet.slot = trial.rig.slot;
    sheet.motion = trial.motion;
    std::vector<trial::RungMotion> motions;
    for (const double value : trial.rungs)
        motions.push_back(trial::with_value(trial.motion, value));
    const std::vector<dynamics::WindowOutcome> outcomes =
        trial::run_rungs(trial.rig, truth, motions);
    const bool sweep = trial.motion.question == trial::TrialQuestion::resonance;
    std::size_t loudest = 0;
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
        const bool lost = outcomes[i].slipped();
        sheet.rungs.push_back({trial.rungs[i],
                               lost && !sweep ? trial::RungResult::lost : trial::RungResult::held,
                               {name, i + 1, 1}});
        if (outcomes[i].peak_load_angle_rad > outcomes[loudest].peak_load_angle_rad) loudest = i;
        if (lost && !sweep) break;
    }
    if (sweep) sheet.rungs[loudest].result = trial::RungResult::resonance;
    return sheet;
}

/// What became of one machine.
struct Case {
    double error_before = 0.0;   // |ln(predicted/true)| of the acceleration limit
    std::vector<double> errors;  // after each trial
    double elsewhere_before = 0.0,
           elsewhere_after = 0.0;  // at half the speed, which no trial ran at
    int rungs = 0;                 // run in all trials
    int trials_to_know = 0;        // until the error is below kKnown; 0: never
    int blind_runs = 0;            // +15 % from half the predicted limit, to the first loss
    bool refused = false;          // a fit found its sheets contradictory
};

inline constexpr double kKnown = 0.05;
inline constexpr double kBlindRatio = 1.15;

inline int blind_runs(double from, double limit) {
    int runs = 1;
    for (double value = from; value < limit && runs < 100; value *= kBlindRatio)
        ++runs;
    return runs;
}

inline std::optional<trial::RungMotion> strokes_of(const std::vector<trial::TrialSheet>& sheets,
                                                   trial::TrialQuestion question) {
    std::optional<trial::RungMotion> strokes;
    for (const trial::TrialSheet& sheet : sheets)
        if (sheet.motion.question == question) strokes = sheet.motion;
    return strokes;
}

/// Three trials of one machine: acceleration, resonance, acceleration again.
inline std::optional<Case> run_case(const machine::Machine& machine, std::uint64_t seed,
                                    std::uint64_t draw) {
    const run::MotorModels models = run::motor_models(machine);
    const trial::TrialPrior prior = trial::trial_prior(machine, models, 0);
    const dynamics::AxisDynamics truth = hidden_truth(machine, models, seed, draw);
    const auto first = trial::design_trial(machine, models, 0, trial::TrialQuestion::acceleration);
    if (!first || !first.value().predicted.slips) return std::nullopt;
    const trial::Trial& trial = first.value();
    const double before = trial.predicted.value;
    const double limit = trial::find_loss(trial.rig, truth, trial.motion, before).value;
    trial::RungMotion other = trial.motion;
    other.speed_m_s *= 0.5;
    const double other_limit = trial::find_loss(trial.rig, truth, other, before).value;
    const auto error = [](double predicted, double true_limit) {
        return std::fabs(std::log(predicted / true_limit));
    };
    Case result;
    result.error_before = error(before, limit);
    result.elsewhere_before =
        error(trial::predict_value(trial.rig, prior, other, {}, 0.0).value, other_limit);
    result.blind_runs = blind_runs(0.5 * before, limit);
    trial::Estimate belief = trial::belief_before(prior);
    std::vector<trial::TrialSheet> sheets;
    for (const trial::TrialQuestion question :
         {trial::TrialQuestion::acceleration, trial::TrialQuestion::resonance,
          trial::TrialQuestion::acceleration}) {
        const auto next =
            trial::design_trial(machine, models, 0, question, belief, strokes_of(sheets, question));
        if (!next) return std::nullopt;
        sheets.push_back(
            answered(next.value(), truth, "trial" + std::to_string(sheets.size() + 1)));
        result.rungs += static_cast<int>(sheets.back().rungs.size());
        const auto fitted = trial::fit(machine, models, sheets);
        if (fitted)
            belief = fitted.value().front().after;
        else
            result.refused = true;
        const double now =
            trial::predict_value(trial.rig, prior, trial.motion, belief.value, 0.0).value;
        result.errors.push_back(error(now, limit));
        if (result.trials_to_know == 0 && result.errors.back() < kKnown)
            result.trials_to_know = static_cast<int>(sheets.size());
    }
    result.elsewhere_after =
        error(trial::predict_value(trial.rig, prior, other, belief.value, 0.0).value, other_limit);
    return result;
}

inline double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace trial_answers
