#include "stepper_sim/check/guesses.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "planner/units/units_text.hpp"
#include "stepper_sim/dynamics/machine_axis.hpp"
#include "stepper_sim/dynamics/spread.hpp"
#include "stepper_sim/motor/voltage_limit.hpp"

namespace stepper_sim::check {

namespace {

constexpr std::string_view kOfPlates = "45 plates of its frame size, by the holding torque";

machine::ClassBand around(double nominal, double low, double high) {
    return {low * nominal, nominal, high * nominal};
}

bool searched_anyway(GuessKey key) {
    return key == GuessKey::stiffness || key == GuessKey::damping;
}

class Collector {
  public:
    Collector(const machine::Machine& machine, const run::MotorModels& models,
              std::vector<Guess>& out)
        : machine_(machine), models_(models), out_(out) {}

    void of_axis(std::size_t slot) {
        slot_ = slot;
        const machine::Axis& axis = machine_.axes[slot];
        const auto spring =
            dynamics::stiffness_band(machine_, models_.loads, static_cast<int>(slot));
        if (spring && !spring->given)
            add(GuessKey::stiffness,
                around(spring->nominal_N_m, spring->low_factor, spring->high_factor),
                machine::stiffness_source(axis.drive));
        if (spring && !axis.damping)
            add(GuessKey::damping,
                around(dynamics::kDefaultModalDamping, dynamics::kDampingLowFactor,
                       dynamics::kDampingHighFactor),
                "common practice, no source");
        if (axis.load.friction_guessed)
            add(GuessKey::friction, machine::typical_friction(axis.load.mass, !axis.travel_max),
                machine::friction_source(!axis.travel_max));
        of_motor(axis);
        if (axis.current.basis == machine::CurrentBasis::not_stated) {
            const double number_A = axis.current.value.value();
            add(GuessKey::current,
                {number_A, number_A * std::numbers::sqrt2, number_A * std::numbers::sqrt2},
                "its number read as a peak and as RMS");
        }
    }

  private:
    void of_motor(const machine::Axis& axis) {
        const motor::MotorConstants plate = motor::motor_constants(axis.motor);
        const std::string source(kOfPlates);
        if (plate.inertia_estimated)
            add(GuessKey::rotor_inertia,
                around(plate.rotor_inertia_kg_m2, 1.0 / motor::kInertiaSpread,
                       motor::kInertiaSpread),
                source);
        // A published curve carries the torque; what is left of the coils' part is in its transfer.
        if (plate.resistance_estimated && axis.motor.curves.empty())
            add(GuessKey::resistance,
                around(plate.resistance_ohm, motor::kResistanceLow, motor::kResistanceHigh),
                source);
        if (plate.inductance_estimated && axis.motor.curves.empty())
            add(GuessKey::inductance,
                around(plate.inductance_H, 1.0 / motor::kInductanceSpread,
                       motor::kInductanceSpread),
                source);
    }

    void add(GuessKey key, const machine::ClassBand& band, const std::string& source) {
        out_.push_back({slot_, machine_.axes[slot_].letter, key, band, source});
    }

    const machine::Machine& machine_;
    const run::MotorModels& models_;
    std::vector<Guess>& out_;
    std::size_t slot_ = 0;
};

/// The end of a band that asks most of the motor and gives it least: high, save of the current.
double hard_end(const Guess& guess) {
    return guess.key == GuessKey::current ? guess.band.low : guess.band.high;
}

double lively_end(const Guess& guess) {
    return guess.key == GuessKey::current ? guess.band.high : guess.band.low;
}

/// "friction of X and Y, rotor inertia of X"
std::string all_listed(const std::vector<Guess>& guesses) {
    std::string out;
    for (int k = 0; k <= static_cast<int>(GuessKey::current); ++k) {
        const auto key = static_cast<GuessKey>(k);
        std::string letters;
        if (searched_anyway(key)) continue;
        for (const Guess& guess : guesses)
            if (guess.key == key) letters += guess.axis;
        if (!letters.empty())
            out += fmt::format("{}{} of {}", out.empty() ? "" : ", ", name_of(key),
                               planner::listed_letters(letters));
    }
    return out;
}

}  // namespace

std::vector<Guess> guesses_of(const machine::Machine& machine, const run::MotorModels& models) {
    std::vector<Guess> guesses;
    Collector collector(machine, models, guesses);
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot)
        collector.of_axis(slot);
    return guesses;
}

std::string_view name_of(GuessKey key) {
    switch (key) {
        case GuessKey::stiffness:
            return "stiffness";
        case GuessKey::damping:
            return "damping";
        case GuessKey::friction:
            return "friction";
        case GuessKey::rotor_inertia:
            return "rotor inertia";
        case GuessKey::resistance:
            return "resistance";
        case GuessKey::inductance:
            return "inductance";
        case GuessKey::current:
            break;
    }
    return "basis of the current";
}

std::string path_of(const Guess& guess) {
    const auto letter = planner::axis_key(guess.axis);
    switch (guess.key) {
        case GuessKey::stiffness:
        case GuessKey::damping:
            return fmt::format("axes.{}.{}", letter, name_of(guess.key));
        case GuessKey::friction:
            return fmt::format("axes.{}.load.friction", letter);
        case GuessKey::rotor_inertia:
            return fmt::format("axes.{}.motor.rotor_inertia", letter);
        case GuessKey::resistance:
        case GuessKey::inductance:
            return fmt::format("axes.{}.motor.{}", letter, name_of(guess.key));
        case GuessKey::current:
            break;
    }
    return fmt::format("axes.{}.current", letter);
}

std::string guess_text(GuessKey key, double value) {
    constexpr int kDigits = 2;
    switch (key) {
        case GuessKey::stiffness:
            return planner::format_number(1e-3 * value, kDigits) + " N/mm";
        case GuessKey::damping:
            return planner::format_number(value, kDigits);
        case GuessKey::friction:
            return planner::format_quantity(planner::from_si<planner::Force>(value), kDigits);
        case GuessKey::rotor_inertia:
            return planner::format_quantity(planner::from_si<planner::Inertia>(value), kDigits);
        case GuessKey::resistance:
            return planner::format_quantity(planner::from_si<planner::Resistance>(value), kDigits);
        case GuessKey::inductance:
            return planner::format_quantity(planner::from_si<planner::Inductance>(value), kDigits);
        case GuessKey::current:
            break;
    }
    return planner::format_quantity(planner::from_si<planner::Current>(value), 3) + " peak";
}

std::string band_text(const Guess& guess) {
    return guess_text(guess.key, guess.band.low) + " to " + guess_text(guess.key, guess.band.high);
}

void set_guess(const Guess& guess, double value, machine::Machine& machine) {
    machine::Axis& axis = machine.axes[guess.slot];
    switch (guess.key) {
        case GuessKey::stiffness:
            axis.stiffness = planner::from_si<planner::Stiffness>(value);
            return;
        case GuessKey::damping:
            axis.damping = value;
            return;
        case GuessKey::friction:
            axis.load.friction = planner::from_si<planner::Force>(value);
            axis.load.friction_guessed = false;
            return;
        case GuessKey::rotor_inertia:
            axis.motor.rotor_inertia = planner::from_si<planner::Inertia>(value);
            return;
        case GuessKey::resistance:
            axis.motor.resistance = planner::from_si<planner::Resistance>(value);
            return;
        case GuessKey::inductance:
            axis.motor.inductance = planner::from_si<planner::Inductance>(value);
            return;
        case GuessKey::current:
            axis.current = {planner::from_si<planner::Current>(value), machine::CurrentBasis::peak};
            return;
    }
}

std::vector<GuessEnd> guess_ends(const machine::Machine& machine,
                                 const std::vector<Guess>& guesses) {
    const std::string what = all_listed(guesses);
    if (what.empty()) return {};
    std::vector<GuessEnd> corners{{machine, "at the hard end of what is guessed (" + what + ")"},
                                  {machine, "at the light end of what is guessed (" + what + ")"}};
    for (const Guess& guess : guesses) {
        if (searched_anyway(guess.key)) continue;
        set_guess(guess, hard_end(guess), corners[0].machine);
        set_guess(guess, lively_end(guess), corners[1].machine);
    }
    return corners;
}

std::vector<std::string> guess_sentences(const std::vector<Guess>& guesses) {
    std::vector<std::string> out;
    for (int k = 0; k <= static_cast<int>(GuessKey::current); ++k) {
        const auto key = static_cast<GuessKey>(k);
        std::string axes;
        std::vector<std::string> sources;
        for (const Guess& guess : guesses) {
            if (guess.key != key) continue;
            axes += fmt::format("{}{} {}", axes.empty() ? "" : ", ", guess.axis, band_text(guess));
            if (std::find(sources.begin(), sources.end(), guess.source) == sources.end())
                sources.push_back(guess.source);
        }
        if (axes.empty()) continue;
        std::string from;
        for (const std::string& source : sources)
            from += (from.empty() ? "" : "; ") + source;
        out.push_back(fmt::format("guessed, since the machine file does not say: {} of {} ({})",
                                  name_of(key), axes, from));
    }
    return out;
}

}  // namespace stepper_sim::check
