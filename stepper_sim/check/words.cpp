#include "stepper_sim/check/words.hpp"

#include <fmt/core.h>

#include <numbers>

#include "planner/units/units_text.hpp"

namespace stepper_sim::check::words {

namespace {

/// Moves that come from no program have no lines.
std::string line_of(std::uint64_t line) {
    return line != 0 ? fmt::format("line {}, ", line) : std::string();
}

}  // namespace

std::string lines(const Change& change) {
    std::string out;
    for (const SettingChange& setting : change.settings)
        out += (out.empty() ? "" : ", ") + machine::line_text(setting.to);
    return out;
}

std::string mm_s(double speed_m_s) {
    return planner::format_number(speed_m_s * 1e3) + " mm/s";
}
std::string mm_s2(double acceleration_m_s2) {
    return planner::format_number(acceleration_m_s2 * 1e3) + " mm/s^2";
}
std::string mm(double length_m) {
    return planner::format_number(length_m * 1e3, 5) + " mm";
}
std::string percent(double share) {
    return share >= 10.0 ? "> 1000 %" : fmt::format("{:.0f} %", 100.0 * share);
}
std::string torque(double torque_Nm) {
    // One unit throughout: a band from N cm to N m reads badly.
    return planner::format_number(torque_Nm, 3) + " N m";
}
std::string rate(double rate_hz) {
    return planner::format_quantity(planner::from_si<planner::Frequency>(rate_hz), 4);
}
std::string interval(double seconds) {
    return planner::format_quantity(planner::from_si<planner::Time>(seconds), 4);
}

std::string speed_of(const machine::Axis& axis, double rate_rad_s) {
    return mm_s(rate_rad_s / (2.0 * std::numbers::pi) * axis.drive.travel_per_turn().value());
}

Finding about(std::string_view check, Grade grade, const machine::Axis& axis) {
    Finding finding;
    finding.check = check;
    finding.grade = grade;
    finding.motor = axis.letter;
    return finding;
}

void place(Finding& finding, const machine::Axis& axis, const run::Moment& at) {
    finding.line = at.line;
    finding.time_s = at.time_s;
    finding.position_m = at.position_m;
    finding.message +=
        fmt::format(" at {}{}, {} {}", line_of(at.line), planner::format_duration(at.time_s),
                    axis.letter, mm(at.position_m));
}

void place(Finding& finding, const controller::Extreme& at) {
    finding.line = at.line;
    finding.time_s = at.time_s;
    finding.message +=
        fmt::format(" at {}{}", line_of(at.line), planner::format_duration(at.time_s));
}

}  // namespace stepper_sim::check::words
