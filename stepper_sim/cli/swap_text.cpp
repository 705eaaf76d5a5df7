#include "stepper_sim/cli/swap_text.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <system_error>

#include "planner/units/units_text.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/bounds.hpp"
#include "stepper_sim/machine/read_parts.hpp"

namespace stepper_sim::cli {

namespace {

namespace fs = std::filesystem;

// As in machine files.
using machine::reading::kMaxCurrent_A;
using machine::reading::kMaxSupply_V;
constexpr double kMaxGearRatio = 1e4;
constexpr double kMaxMicrosteps = 65536;

void refuse(std::string_view found, std::string_view expected) {
    print_error(
        fmt::format("--swap: found '{}', expected {}", planner::printable(found), expected));
}

std::optional<fs::path> part_file(const std::string& name, const Invocation& invocation) {
    const fs::path own = fs::path(invocation.text("MACHINE")).parent_path();
    std::vector<fs::path> folders{"", own, own / ".."};
    for (const fs::path& folder : catalogue_folders(invocation))
        folders.push_back(folder);
    for (const fs::path& folder : folders) {
        std::error_code error;
        const fs::path file = folder / name;
        if (fs::exists(file, error) && !fs::is_directory(file, error)) return file;
    }
    return std::nullopt;
}

template <class Part>
std::optional<Part> part_of(const std::string& key, const std::string& name,
                            planner::Result<Part> (*read)(const fs::path&),
                            const Invocation& invocation) {
    const auto file = name.empty() ? std::nullopt : part_file(name, invocation);
    if (!file) {
        refuse(name, fmt::format("a {} file such as {}s/NAME.toml; 'stepper_sim parts {}s' lists "
                                 "them",
                                 key, key, key));
        return std::nullopt;
    }
    auto part = read(*file);
    if (part) return std::move(part).value();
    print_diagnostics(part.diagnostics());
    return std::nullopt;
}

/// A catalogue may leave out what its source does not state; torque cannot be judged without it.
bool complete(const machine::MotorPart& motor) {
    std::string missing;
    if (!motor.rotor_inertia) missing = "rotor_inertia";
    if (motor.curves.empty() && !(motor.resistance && motor.inductance))
        missing += std::string(missing.empty() ? "" : ", ") + "resistance and inductance";
    if (missing.empty()) return true;
    refuse(motor.name, "a motor with " + missing + "; add it to a copy of the part file");
    return false;
}

template <class Q>
std::optional<Q> quantity_of(const std::string& text, double most) {
    auto value = planner::parse_quantity<Q>(text, {"--swap", 0, 0});
    if (!value) {
        print_diagnostics(value.diagnostics());
        return std::nullopt;
    }
    if (value.value().value() > 0.0 && value.value().value() <= most) return value.value();
    refuse(text, fmt::format("a value above zero, at most {}",
                             planner::format_quantity(planner::from_si<Q>(most))));
    return std::nullopt;
}

std::optional<machine::RatedCurrent> current_of(const std::string& text) {
    for (const auto& [word, basis] :
         {std::pair{" rms", machine::CurrentBasis::rms}, {" peak", machine::CurrentBasis::peak}}) {
        if (!text.ends_with(word)) continue;
        const std::string amount = text.substr(0, text.size() - std::string_view(word).size());
        const auto value = quantity_of<planner::Current>(amount, kMaxCurrent_A);
        if (!value) return std::nullopt;
        return machine::RatedCurrent{*value, basis};
    }
    refuse(text, "a current that says rms or peak, such as \"1.2 A rms\"");
    return std::nullopt;
}

std::optional<double> number_of(const std::string& text, double least, double most, bool whole) {
    const auto value = planner::parse_number(text, {"--swap", 0, 0});
    if (!value) {
        print_diagnostics(value.diagnostics());
        return std::nullopt;
    }
    if (value.value() >= least && value.value() <= most &&
        (!whole || value.value() == std::floor(value.value())))
        return value.value();
    refuse(text, fmt::format("a {}number from {} to {}", whole ? "whole " : "",
                             planner::format_number(least, 6), planner::format_number(most, 6)));
    return std::nullopt;
}

/// Fills one field of `swap`; false, with an error printed, where it cannot.
bool set(limits::Swap& swap, const std::string& key, const std::string& value,
         const Invocation& invocation) {
    if (key == "motor") {
        swap.motor = part_of(key, value, machine::read_motor, invocation);
        return swap.motor && complete(*swap.motor);
    }
    if (key == "driver") {
        swap.driver = part_of(key, value, machine::read_driver, invocation);
        return swap.driver.has_value();
    }
    if (key == "supply") {
        swap.supply = quantity_of<planner::Voltage>(value, kMaxSupply_V);
        return swap.supply.has_value();
    }
    if (key == "current") {
        swap.current = current_of(value);
        return swap.current.has_value();
    }
    if (key == "microsteps") {
        const auto count = number_of(value, 1.0, kMaxMicrosteps, true);
        if (count) swap.microsteps = static_cast<int>(*count);
        return count.has_value();
    }
    if (key == "gear") {
        swap.gear_ratio = number_of(value, 1.0 / kMaxGearRatio, kMaxGearRatio, false);
        return swap.gear_ratio.has_value();
    }
    refuse(key + "=" + value, "motor, driver, supply, current, microsteps or gear before the '='");
    return false;
}

/// Where the next part of a swap starts: a '+' with a word and '=' after it, so that file names may hold a '+'.
std::size_t next_part(const std::string& text, std::size_t from) {
    for (std::size_t at = text.find('+', from); at != std::string::npos;
         at = text.find('+', at + 1)) {
        const std::size_t end = text.find_first_not_of("abcdefghijklmnopqrstuvwxyz", at + 1);
        if (end != std::string::npos && end > at + 1 && text[end] == '=') return at;
    }
    return std::string::npos;
}

}  // namespace

std::optional<limits::Swap> swap_of(const std::string& text, const Invocation& invocation) {
    limits::Swap swap;
    swap.label = planner::printable(text, 200);
    std::vector<std::string> seen;
    bool good = true;
    for (std::size_t from = 0; from != std::string::npos;) {
        const std::size_t end = next_part(text, from);
        const std::string part = text.substr(from, end == std::string::npos ? end : end - from);
        from = end == std::string::npos ? end : end + 1;
        const std::size_t equals = part.find('=');
        if (equals == std::string::npos) {
            refuse(part, "KEY=VALUE such as supply=\"36 V\" or motor=motors/NAME.toml");
            return std::nullopt;
        }
        const std::string key = part.substr(0, equals);
        if (std::find(seen.begin(), seen.end(), key) != seen.end()) {
            refuse(part, key + " once in each --swap");
            return std::nullopt;
        }
        seen.push_back(key);
        good = set(swap, key, part.substr(equals + 1), invocation) && good;
    }
    if (!good) return std::nullopt;
    return swap;
}

}  // namespace stepper_sim::cli
