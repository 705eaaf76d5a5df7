/// What a check found. A finding is about the machine or the program, never about unreadable input (that is a Diagnostic).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "stepper_sim/machine/setting.hpp"

namespace stepper_sim::check {

enum class Grade : std::uint8_t { note, risk, fault };
enum class Verdict : std::uint8_t { clear, thin, fault };

struct SettingChange {
    machine::Setting to;
    double now = 0.0;  // the present value, SI

    bool operator==(const SettingChange&) const = default;
};

/// Settings that are changed together.
struct Change {
    std::vector<SettingChange> settings;
    /// A try, not worked out to cure: worth showing only where it was checked again (verified_change.hpp).
    bool is_try = false;

    bool operator==(const Change&) const = default;
};

struct Finding {
    std::string check;  // name of the check, one of the table in check.hpp
    Grade grade = Grade::note;
    char motor = 0;          // letter of the axis that names the motor; 0: not about one motor
    std::uint64_t line = 0;  // program line; 0: not about a place in the program
    std::optional<double> time_s;
    std::optional<double> position_m;
    double value = 0.0, limit = 0.0;
    std::string unit;             // SI unit of value and limit
    std::string message;          // one sentence for a person, with units and the remedy
    std::vector<Change> changes;  // any one of them may cure it; the best first
    /// What to lower where nobody looked for how far; only where `changes` is empty.
    std::optional<machine::SettingKey> lower;
    std::optional<double> likelihood;
};

}  // namespace stepper_sim::check
