#include <limits>

#include "planner/program/interpreter.hpp"
#include "planner/units/units_text.hpp"

namespace planner {
namespace {

constexpr double kLongDwell_s = 60.0;
// Guess: nothing a person waits for is over so soon.
constexpr double kShortDwell_s = 0.01;
constexpr double kSecondsPerMinute = 60.0;

std::string word_text(char letter, double value) {
    return letter + format_number(value, 8);
}

std::string code_word(char letter, int tenths) {
    return word_text(letter, tenths / 10.0);
}

}  // namespace

bool Interpreter::set_modes(const Line& line) {
    if (has(GGroup::feed_mode)) {
        state_.inverse_time = code(GGroup::feed_mode) == 930;
    }
    if (has(GGroup::units)) {
        state_.inches = code(GGroup::units) == 200;
        log_.notes().units_stated = true;
    }
    if (has(GGroup::plane)) {
        state_.plane = static_cast<Plane>((code(GGroup::plane) - 170) / 10);
    }
    compensation();
    if (has(GGroup::scaling) && axis_word_count_ > 0 && !has(GGroup::motion)) {
        return fail("program/not-simulated", column(GGroup::scaling), "G50 with axis words",
                    "G92 or G10 to set positions");
    }
    if (has(GGroup::path_control)) {
        state_.exact_stop = code(GGroup::path_control) == 611;
        used_ |= letter_bit('P');
    }
    if (has(GGroup::distance)) {
        state_.relative = code(GGroup::distance) == 910;
        if (settings_.e_reading == EReading::latest) {
            state_.e_mode = EMode::follows_distance_mode;
        }
    }
    if (has(GGroup::arc_distance)) {
        state_.centre_absolute = code(GGroup::arc_distance) == 901;
    }
    if (has(GGroup::cycle_return)) {
        state_.return_to_clearance = code(GGroup::cycle_return) == 990;
    }
    for (const char letter : {'S', 'T'}) {
        if (line.has(letter) && line.value(letter) < 0.0) {
            log_.spot(SpotKind::negative_unused);
        }
    }
    return true;
}

// An error, but the line moves on: one mistake is one diagnostic.
void Interpreter::compensation() {
    if (!has(GGroup::compensation) || code(GGroup::compensation) == 400) {
        return;
    }
    if (settings_.compensation_as_written) {
        log_.spot(SpotKind::compensation_ignored);
    } else {
        fail("program/compensation", column(GGroup::compensation),
             code_word('G', code(GGroup::compensation)), "the path of the tool's centre",
             "export it without cutter compensation, or let program.cutter_compensation = "
             "\"as written\" take the path as it is");
    }
}

bool Interpreter::set_feed(const Line& line) {
    if (!line.has('F')) {
        return true;
    }
    log_.notes().feed_stated = true;
    if (state_.inverse_time) {
        return true;  // a duration, which each move takes from its own line
    }
    const double feed = line.value('F');
    if (feed < 0.0) {
        return fail("program/bad-feed", line.column('F'), word_text('F', feed),
                    "a feed of 0 or more");
    }
    state_.feed_given = true;
    if (feed == 0.0) {
        log_.spot(SpotKind::zero_feed);
        state_.feed_m_s = std::numeric_limits<double>::infinity();
        return true;
    }
    state_.feed_m_s = state_.metres(feed) / kSecondsPerMinute;
    if (state_.feed_m_s > kFastFeed_m_s) {
        log_.spot(SpotKind::fast_feed);
    } else if (state_.feed_m_s < kTinyFeed_m_s) {
        log_.spot(SpotKind::tiny_feed);
    }
    return true;
}

void Interpreter::set_mapped(const Line& line, std::vector<Command>& out) {
    for (const MappedWord& word : line.mapped) {
        if (word.effect == WordEffect::relative_e) {
            state_.e_mode = EMode::relative;
        } else if (word.effect == WordEffect::absolute_e) {
            state_.e_mode = EMode::absolute;
        } else if (word.effect == WordEffect::wait) {
            emit(CommandKind::wait, out);
        } else if (word.effect == WordEffect::set_acceleration) {
            emit(CommandKind::set_acceleration, out).acceleration_m_s2 = state_.metres(word.value);
        }
    }
}

bool Interpreter::dwell(const Line& line, std::vector<Command>& out) {
    if (!has(GGroup::dwell)) {
        return true;
    }
    used_ |= letter_bit('P');
    const std::size_t column = this->column(GGroup::dwell);
    if (line.has('P') && line.value('P') < 0.0) {
        return fail("program/bad-value", line.column('P'), word_text('P', line.value('P')),
                    "a dwell of 0 or more");
    }
    if (!line.has('P') && axis_word_count_ > 0) {
        return fail("program/dwell", column, "G4 with axis words and no P",
                    "the dwell in P, such as G4 P1.5",
                    "some controls take the time from X: write it as P");
    }
    if (!line.has('P')) {
        log_.spot(SpotKind::dwell_without_time);
    }
    Command& command = emit(CommandKind::dwell, out);
    command.seconds = line.has('P') ? line.value('P') * settings_.dwell_unit_s : 0.0;
    if (command.seconds > kLongDwell_s) {
        log_.spot(SpotKind::long_dwell);
    } else if (settings_.dwell_unit_s < 1.0 && command.seconds > 0.0 &&
               command.seconds < kShortDwell_s) {
        log_.spot(SpotKind::short_dwell);
    }
    return true;
}

}  // namespace planner
