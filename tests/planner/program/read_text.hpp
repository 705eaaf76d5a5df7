/// Reads a whole text at once: what most tests of the reader need.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "planner/program/program_reader.hpp"

namespace planner::test {

struct ReadResult {
    std::vector<Command> commands;
    std::vector<Diagnostic> errors;
    ProgramNotes notes;
};

inline ReadResult read_text(std::string_view text, const ProgramSettings& settings = {}) {
    ReadResult result;
    ProgramReader reader(settings, "test.ngc");
    reader.read(text, result.commands);
    reader.finish(result.commands);
    result.errors = reader.errors();
    result.notes = reader.notes();
    return result;
}

inline ProgramSettings settings_for(std::string_view axes) {
    ProgramSettings settings;
    settings.axes = AxisSet(axes);
    return settings;
}

/// A machine that prints: X Y Z E and the words for filament distances and acceleration in its
/// machine file.
inline ProgramSettings printer() {
    ProgramSettings settings = settings_for("XYZE");
    settings.words["M7303"] = {WordEffect::absolute_e};
    settings.words["M7304"] = {WordEffect::relative_e};
    settings.words["M7301"] = {WordEffect::set_acceleration, "S"};
    return settings;
}

inline bool same(const Command& a, const Command& b) {
    return a.kind == b.kind && a.rapid == b.rapid && a.exact_stop == b.exact_stop &&
           a.line == b.line && a.feed_m_s == b.feed_m_s && a.inverse_time_s == b.inverse_time_s &&
           a.seconds == b.seconds && a.acceleration_m_s2 == b.acceleration_m_s2 &&
           a.target_m == b.target_m && a.arc.first == b.arc.first && a.arc.second == b.arc.second &&
           a.arc.clockwise == b.arc.clockwise && a.arc.full_turns == b.arc.full_turns &&
           a.arc.centre_first_m == b.arc.centre_first_m &&
           a.arc.centre_second_m == b.arc.centre_second_m && a.e_word == b.e_word;
}

inline const Spot* find_spot(const ReadResult& result, SpotKind kind) {
    for (const Spot& spot : result.notes.spots) {
        if (spot.kind == kind) {
            return &spot;
        }
    }
    return nullptr;
}

inline double mm(double metres) {
    return metres * 1e3;
}

/// Positions are decimal millimetres divided by 1000 once; back to mm that is at most two roundings
/// of values below 1 m.
inline constexpr double kRounding_mm = 1e-12;

}  // namespace planner::test
