#include "stepper_sim/trial/trial.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "planner/lookahead/corner.hpp"
#include "planner/profile/trapezoid.hpp"
#include "planner/units/units_text.hpp"
#include "stepper_sim/check/words.hpp"
#include "stepper_sim/limits/highest.hpp"
#include "stepper_sim/run/ceilings.hpp"
#include "stepper_sim/trial/trial_loudness.hpp"

namespace stepper_sim::trial {

namespace {

// No controller is known to have it: it would run every rung at what the machine is set to.
constexpr std::string_view kExampleWord = "M7408";

constexpr double kFirstShare = 0.5;  // of the prediction
constexpr double kFinestRatio = 1.01;
// Rungs go on to three spreads above the prediction, within these ratios.
constexpr double kSpreads = 3.0;
constexpr double kLeastReach = 1.2, kMostReach = 1.8;
// Cruise of a stroke, beyond what it needs to reach its speed.
constexpr double kCruise_s = 0.1;
constexpr double kFastCruise_s = 0.3;  // an instability at speed needs time
constexpr double kBelowCeiling = 0.98;
// Zig-zags sweep from 0.7 to 1.45 of the predicted resonance, which is three spreads either way.
constexpr double kSweepFrom = 0.7, kSweepTo = 1.45, kSweepRatio = 1.06;
// Swing wanted there on the motor believed in [rad electrical]: well heard, far from the 2 or 3 of a slip.
constexpr double kWantedSwing_rad = 1.1;
// Reversals too gentle for the dry friction hide the resonance; too hard ones lose steps. Of the present acceleration:
constexpr double kGentlest = 0.125, kHardest = 16.0;
constexpr int kValueDigits = 4;

double usable_m(const machine::Machine& machine, const TrialRig& rig) {
    double usable = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < machine.axes.size(); ++i)
        if (rig.way[i] != 0.0 && machine.axes[i].travel_min && machine.axes[i].travel_max)
            usable = std::min(usable, kTrialTravelShare * (machine.axes[i].travel_max->value() -
                                                           machine.axes[i].travel_min->value()));
    return usable;
}

/// Axis speed below every step-rate ceiling of the motors that take part.
double ceiling_m_s(const machine::Machine& machine, const TrialRig& rig) {
    double ceiling = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < machine.axes.size(); ++i)
        if (rig.way[i] != 0.0)
            ceiling = std::min(ceiling, run::ceiling_speed_m_s(machine, machine.axes[i]));
    return kBelowCeiling * ceiling / rig.motor_per_axis;
}

std::vector<double> rungs_of(double predicted, double spread, double top) {
    const double fine = std::clamp(1.0 + spread, kFinestRatio, kRungRatio);
    const double zone_from = predicted * std::exp(-kSpreads * spread);
    const double zone_to = predicted * std::exp(kSpreads * spread);
    std::vector<double> rungs;
    for (double value = kFirstShare * predicted; value <= top;) {
        rungs.push_back(check::words::floor_digits(value, kValueDigits));
        const double coarse = value * kRungRatio;
        if (coarse <= zone_from || value >= zone_to)
            value = coarse;
        else
            value = std::max(value * fine, std::min(coarse, zone_from));
    }
    return rungs;
}

/// Hardest reversals that stay in the room there is and swing no more than wanted at any frequency of the sweep.
double sweep_acceleration_m_s2(const Trial& trial, const dynamics::AxisDynamics& axis,
                               double usable_m) {
    const double present_m_s2 = trial.motion.acceleration_m_s2;
    const auto gentle = [&](double acceleration_m_s2) {
        RungMotion motion = trial.motion;
        motion.acceleration_m_s2 = acceleration_m_s2;
        const double longest_m =
            planner::length_in(0.5 / trial.rungs.front(), 0.5 * motion.step_m_s, motion.speed_m_s,
                               motion.acceleration_m_s2);
        return longest_m <= usable_m &&
               loudness(trial.rig, axis, motion, trial.rungs).peak_rad() <= kWantedSwing_rad;
    };
    const auto found =
        limits::highest(present_m_s2, kHardest * present_m_s2, gentle, limits::kFoundTo, kGentlest);
    return check::words::floor_digits(found.value_or(kGentlest * present_m_s2), kValueDigits);
}

class Designer {
  public:
    Designer(const machine::Machine& machine, const run::MotorModels& models,
             const Estimate& belief, Trial& trial)
        : machine_(machine),
          belief_(belief),
          prior_(trial_prior(machine, models, trial.rig.slot)),
          trial_(trial),
          usable_m_(usable_m(machine, trial.rig)) {
        const auto s = static_cast<std::size_t>(trial.rig.slot);
        const machine::AxisSettings& settings = machine.axes[s].settings;
        trial_.motion.acceleration_m_s2 = settings.max_acceleration.value();
        trial_.motion.speed_m_s = settings.max_speed.value();
        trial_.motion.step_m_s = planner::row_of(machine.planning.corner).of_each_axis
                                     ? settings.speed_step.value()
                                     : 0.0;
    }

    void run(const std::optional<RungMotion>& strokes) {
        const TrialQuestion question = trial_.motion.question;
        if (question == TrialQuestion::resonance) {
            resonance();
            return;
        }
        if (strokes)
            trial_.motion = *strokes;
        else if (question == TrialQuestion::speed)
            speed();
        else if (question == TrialQuestion::acceleration)
            acceleration();
        else
            step();
        predict_here();
        const double reach = std::exp(
            std::clamp(kSpreads * trial_.spread, std::log(kLeastReach), std::log(kMostReach)));
        double top =
            trial_.predicted.slips ? trial_.predicted.value * reach : trial_.predicted.value;
        top = std::min(top, highest_value(trial_.motion));
        if (trial_.motion.question == TrialQuestion::speed &&
            top > ceiling_m_s(machine_, trial_.rig)) {
            top = ceiling_m_s(machine_, trial_.rig);
            trial_.notes.emplace_back("the rungs end below the step-rate ceiling");
        }
        trial_.rungs = rungs_of(std::min(trial_.predicted.value, top), trial_.spread, top);
        if (!trial_.predicted.slips)
            trial_.notes.emplace_back(
                "the strokes are too short to show this axis's limit: all rungs should hold");
        const auto trouble = std::find_if(trial_.rungs.begin(), trial_.rungs.end(),
                                          [&](double v) { return v >= trial_.predicted.value; });
        if (trial_.predicted.slips && trouble != trial_.rungs.end())
            trial_.trouble = static_cast<std::size_t>(trouble - trial_.rungs.begin());
    }

  private:
    void predict_here() {
        trial_.predicted = predict(trial_.rig, prior_, trial_.motion, belief_.value);
        trial_.spread = belief_.spread(trial_.predicted.gradient);
    }

    double reachable_m_s(double acceleration_m_s2) const {
        return check::words::floor_digits(std::sqrt(acceleration_m_s2 * usable_m_), kValueDigits);
    }

    void set_stroke(double speed_m_s, double acceleration_m_s2, double cruise_s) {
        const double wanted_m = speed_m_s * speed_m_s / acceleration_m_s2 + cruise_s * speed_m_s;
        constexpr double kMicrons = 1e6;
        trial_.motion.stroke_m = std::floor(std::min(usable_m_, wanted_m) * kMicrons) / kMicrons;
    }

    void speed() {
        const double a = trial_.motion.acceleration_m_s2;
        set_stroke(std::min(reachable_m_s(a), ceiling_m_s(machine_, trial_.rig)), a, kFastCruise_s);
    }

    void set_sweep() {
        const double frequency_Hz = resonance_Hz(moved(prior_.nominal, belief_.value));
        trial_.motion.sweep_from_Hz =
            check::words::floor_digits(kSweepFrom * frequency_Hz, kValueDigits);
        trial_.motion.sweep_to_Hz =
            check::words::floor_digits(kSweepTo * frequency_Hz, kValueDigits);
    }

    /// The lowest rung must still reach the speed.
    void acceleration() {
        RungMotion& motion = trial_.motion;
        set_sweep();
        for (int i = 0; i < 3; ++i) {
            set_stroke(motion.speed_m_s, motion.acceleration_m_s2, kCruise_s);
            const double guess =
                predict_value(trial_.rig, prior_, motion, belief_.value, 0.0).value;
            motion.acceleration_m_s2 = kFirstShare * guess;
            const double reach = reachable_m_s(motion.acceleration_m_s2);
            const bool reached = motion.speed_m_s <= reach;
            motion.speed_m_s = std::min(motion.speed_m_s, reach);
            set_stroke(motion.speed_m_s, motion.acceleration_m_s2, kCruise_s);
            if (reached) return;
        }
        trial_.notes.emplace_back(
            "the strokes are run slower than the top speed, which the travel does not let them "
            "reach");
    }

    void step() {
        set_sweep();
        const double a = trial_.motion.acceleration_m_s2;
        trial_.motion.speed_m_s = std::min(trial_.motion.speed_m_s, reachable_m_s(a));
        set_stroke(trial_.motion.speed_m_s, a, kFastCruise_s);
    }

    void resonance() {
        predict_here();
        trial_.motion.stroke_m = 0.0;
        for (double f = kSweepFrom * trial_.predicted.value; f <= kSweepTo * trial_.predicted.value;
             f *= kSweepRatio)
            trial_.rungs.push_back(check::words::floor_digits(f, kValueDigits));
        const dynamics::AxisDynamics believed = moved(prior_.nominal, belief_.value);
        trial_.motion.acceleration_m_s2 = sweep_acceleration_m_s2(trial_, believed, usable_m_);
        const Loudness expected = loudness(trial_.rig, believed, trial_.motion, trial_.rungs);
        if (const auto heard_Hz = expected.heard_Hz())
            trial_.predicted.value = *heard_Hz;
        else
            trial_.notes.emplace_back(
                "no rung stands out in the simulation: friction may hide the resonance");
        const auto nearest =
            std::min_element(trial_.rungs.begin(), trial_.rungs.end(), [&](double a, double b) {
                return std::fabs(a - trial_.predicted.value) <
                       std::fabs(b - trial_.predicted.value);
            });
        trial_.trouble = static_cast<std::size_t>(nearest - trial_.rungs.begin());
    }

    const machine::Machine& machine_;
    const Estimate& belief_;
    TrialPrior prior_;
    Trial& trial_;
    double usable_m_;
};

}  // namespace

planner::Result<Trial> design_trial(const machine::Machine& machine, const run::MotorModels& models,
                                    int slot, TrialQuestion question, const Estimate& belief,
                                    const std::optional<RungMotion>& strokes) {
    const machine::Axis& axis = machine.axes[static_cast<std::size_t>(slot)];
    Trial trial;
    trial.machine_name = machine.name;
    trial.letter = axis.letter;
    trial.motion.question = question;
    trial.rig = trial_rig(machine, models.loads, slot);
    for (std::size_t i = 0; i < machine.axes.size(); ++i) {
        const machine::Axis& taking_part = machine.axes[i];
        if (trial.rig.way[i] == 0.0) continue;
        if (!taking_part.travel_min || !taking_part.travel_max)
            return planner::Diagnostic{
                "trial/no-travel",
                {machine.file, 0, 0},
                std::string("axis ") + taking_part.letter + " without travel",
                "an axis with travel = [...] to keep a trial inside",
                "a drive of filament is best tried by hand"};
        trial.reference_m[i] =
            0.5 * (taking_part.travel_min->value() + taking_part.travel_max->value());
    }
    if (const auto word = machine.program.words.find(std::string(kExampleWord));
        word != machine.program.words.end() &&
        word->second.effect == planner::WordEffect::set_acceleration)
        return planner::Diagnostic{
            "trial/example-word",
            {machine.file, 0, 0},
            fmt::format("set_acceleration = \"{} ...\", the word of the examples", kExampleWord),
            "your controller's own word for acceleration, or none",
            "without one the trial asks you to set each rung"};
    if (question == TrialQuestion::step && !planner::row_of(machine.planning.corner).of_each_axis)
        return planner::Diagnostic{"trial/corners-by-deviation",
                                   {machine.file, 0, 0},
                                   "corner = \"deviation\"",
                                   "a machine whose corners go by speed step",
                                   "raise acceleration instead"};
    Designer(machine, models, belief, trial).run(strokes);
    trial.motion = with_value(trial.motion, trial.rungs.front());
    return trial;
}

planner::Result<Trial> design_trial(const machine::Machine& machine, const run::MotorModels& models,
                                    int slot, TrialQuestion question) {
    return design_trial(machine, models, slot, question,
                        belief_before(trial_prior(machine, models, slot)));
}

machine::Machine set_to(machine::Machine machine, const Trial& trial, double value) {
    const RungMotion motion = with_value(trial.motion, value);
    for (std::size_t i = 0; i < machine.axes.size(); ++i) {
        if (trial.rig.way[i] == 0.0) continue;
        machine::AxisSettings& settings = machine.axes[i].settings;
        settings.max_acceleration =
            planner::from_si<planner::Acceleration>(motion.acceleration_m_s2);
        if (motion.question == TrialQuestion::speed)
            settings.max_speed = planner::from_si<planner::Speed>(motion.speed_m_s);
        if (motion.question == TrialQuestion::step)
            settings.speed_step = planner::from_si<planner::Speed>(motion.step_m_s);
    }
    machine.planning.path_acceleration.reset();
    return machine;
}

std::string rung_text(TrialQuestion question, double value) {
    switch (question) {
        case TrialQuestion::speed:
        case TrialQuestion::step:
            return planner::format_number(value * 1e3, kValueDigits) + " mm/s";
        case TrialQuestion::acceleration:
            return planner::format_number(value * 1e3, kValueDigits) + " mm/s^2";
        case TrialQuestion::resonance:
            break;
    }
    return planner::format_number(value, kValueDigits) + " Hz";
}

}  // namespace stepper_sim::trial
