/// What a check found. A finding is about the machine or the program, never about unreadable input (that is a Diagnostic).
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace stepper_sim {

enum class Grade : std::uint8_t { note, risk, fault };
enum class Verdict : std::uint8_t { clear, thin, fault };

struct Finding {
    std::string check;  // name of the check, one of the table in check.hpp
    Grade grade = Grade::note;
    char motor = 0;          // letter of the axis that names the motor; 0: not about one motor
    std::uint64_t line = 0;  // program line; 0: not about a place in the program
    std::optional<double> time_s;
    std::optional<double> position_m;
    double value = 0.0, limit = 0.0;
    std::string unit;     // SI unit of value and limit
    std::string message;  // one sentence for a person, with units and the remedy
    std::string
        change;  // the setting to change and to what, such as "axes.y.settings.max_acceleration = \"2100 mm/s^2\""; may be empty
    std::optional<double> likelihood;
};

}  // namespace stepper_sim
