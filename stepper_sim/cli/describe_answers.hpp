/// What `describe` asks, and the answers as values. An answer is the same text as option and at the terminal: one value for all axes
/// asked about, several for them in turn with ';' between, or x=VALUE for one; a value has parts with ',' between, told apart by their
/// units. Read next: describe_text.hpp, which writes the machine file.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/machine/parts.hpp"

namespace stepper_sim::cli {

struct KindRow {
    std::string_view name;  // "bed-printer"
    std::string_view says;  // for the question
    std::string_view axes;  // letters, lower case
    std::string_view belts, screws;
    std::string_view weighed;  // whose mass and settings are asked; the others' are assumed
    bool crossed = false;
};
std::span<const KindRow> machine_kinds();

struct Question {
    std::string_view key;  // the option is "--" + key
    std::string_view asks;
    std::string_view example;
    /// The axes it is asked for; empty: the machine.
    std::string_view (*axes)(const KindRow& kind);
    bool needed = true;
    bool others_too = false;  // one value for every axis may be said instead
};
std::span<const Question> questions();

/// By key, as typed.
using Answers = std::map<std::string, std::string, std::less<>>;

/// The kind that was answered; null: none, or none that there is.
const KindRow* kind_of(const Answers& answers);

struct DescribedPart {
    std::string name;  // as a machine file names it: "motors/NAME.toml"
};
struct DescribedMotor {
    std::string part;  // else by its label:
    int frame = 0;
    std::string angle = "1.8 deg", current, torque, resistance, inductance, inertia;
    int steps_per_turn = 200;
};
struct DescribedAxis {
    char letter = 'x';
    std::string travel;  // "220 mm"
    std::string belt_type, belt_pitch, belt_width;
    int teeth = 0;
    std::string lead, root, length, efficiency;
    double travel_m = 0.0, pitch_m = 0.0, lead_m = 0.0;
    DescribedMotor motor;
    std::string driver, current, supply, mass, speed, acceleration, step, friction, stiffness;
    int microsteps = 0;
};
struct Described {
    const KindRow* kind = nullptr;
    std::string name, controller;
    std::vector<DescribedAxis> axes;
};

/// One line for each answer that cannot be used and each needed one that is missing, in `wrong`.
Described described(const Answers& answers, std::span<const std::filesystem::path> catalogue,
                    std::vector<std::string>& wrong);

/// What is wrong with this one answer, in its kind of machine; empty: nothing.
std::string wrong_with(const Question& question, const Answers& answers,
                       std::span<const std::filesystem::path> catalogue);

/// The first folder's file of that part, or an empty path.
std::filesystem::path part_file(std::string_view name,
                                std::span<const std::filesystem::path> catalogue);

}  // namespace stepper_sim::cli
