#include "planner/program/interpreter.hpp"

#include <algorithm>
#include <cmath>

#include "planner/units/units_text.hpp"

namespace planner {
namespace {

constexpr double kSecondsPerMinute = 60.0;

std::string word_text(char letter, double value) {
    return letter + format_number(value, 8);
}

std::string code_word_text(char letter, const CodeWord& code) {
    return word_text(letter, code.tenths / 10.0);
}

std::string missing_axis_hint(char letter) {
    const auto low = static_cast<char>(letter - 'A' + 'a');
    std::string hint = "describe the axis in [axes.";
    hint += low;
    hint += "], or list \"";
    hint += low;
    hint += "\" in program.ignore_axes to skip its words";
    return hint;
}

constexpr std::string_view kResumeHint =
    "if G80 brings back the G0 or G1 before it on this machine, set program.after_g80 = "
    "\"resume\"";

bool is_axis_motion(int tenths) {
    return tenths >= 0 && tenths != 800;
}

}  // namespace

Interpreter::Interpreter(const ProgramSettings& settings, ProgramLog& log)
    : settings_(settings), log_(log) {
    state_.inches = settings.default_inches;
    if (settings.e_reading == EReading::absolute || settings.e_reading == EReading::relative) {
        state_.e_mode =
            settings.e_reading == EReading::absolute ? EMode::absolute : EMode::relative;
    }
    state_.position_m = settings.start_m;
    state_.system_m.fill(settings.work_offset_m);
    state_.offset_m = settings.work_offset_m;
}

bool Interpreter::fail(std::string_view id, std::size_t column, std::string_view found,
                       std::string_view expected, std::string_view hint) {
    // Axis words that nothing moves and arcs that do not meet may come of a word that was skipped.
    const bool may_follow =
        !log_.skipped().empty() &&
        (id == "program/no-motion" || id.starts_with("program/arc") || id == "program/cycle-words");
    const std::string both =
        std::string(hint) + (may_follow && !hint.empty() ? "; " : "") + log_.skipped();
    log_.error(id, column, found, expected, may_follow ? std::string_view(both) : hint);
    return false;
}

void Interpreter::run(const Line& line, std::vector<Command>& out) {
    used_ = letter_bit('N') | letter_bit('S') | letter_bit('T') | letter_bit('F') |
            letter_bit('D') | letter_bit('H');
    if (!sort_codes(line) || !check_bare_letters(line) || !collect_axis_words(line) ||
        !set_modes(line) || !set_feed(line)) {
        return;
    }
    set_mapped(line, out);
    wait_words(line, out);
    if (!dwell(line, out)) {
        return;
    }
    select_system();
    const bool home_line = has(GGroup::home);
    if (tool_length(line) && (home_line ? home(line, out) : offsets(line) && motion(line, out))) {
        note_unused_words(line);
    }
    for (const CodeWord& word : line.m) {
        if (m_group(word.tenths) == MGroup::stop) {
            emit(CommandKind::wait, out);
            ended_ = ended_ || word.tenths == 20 || word.tenths == 300;
        }
    }
    log_.notes().ended = ended_;
}

bool Interpreter::sort_codes(const Line& line) {
    constexpr std::string_view kExpected = "one word of each modal group on a line";
    g_.fill({-1, 0});
    for (const CodeWord& word : line.g) {
        CodeWord& place = g_[static_cast<std::size_t>(g_group(word.tenths))];
        if (place.tenths == word.tenths) {
            log_.spot(SpotKind::repeated_word);
        } else if (place.tenths >= 0 && place.tenths != 800 && word.tenths != 800) {
            return fail("program/modal-conflict", word.column,
                        code_word_text('G', place) + " and " + code_word_text('G', word),
                        kExpected);
        }
        if (place.tenths < 0 ||
            word.tenths != 800) {  // G80 may stand beside the motion word that follows it
            place = word;
        }
    }
    std::array<int, kMGroups> m{};
    m.fill(-1);
    for (const CodeWord& word : line.m) {
        int& place = m[static_cast<std::size_t>(m_group(word.tenths))];
        const bool both_coolants = place + word.tenths == 150;  // M7 with M8
        if (place == word.tenths) {
            log_.spot(SpotKind::repeated_word);
        } else if (place >= 0 && !both_coolants) {
            return fail("program/modal-conflict", word.column,
                        word_text('M', place / 10.0) + " and " + code_word_text('M', word),
                        kExpected);
        }
        place = word.tenths;
    }
    return true;
}

// Letters without a number name axes to home; anywhere else a number was forgotten.
bool Interpreter::check_bare_letters(const Line& line) {
    char forgotten = '\0';
    for (char letter = 'A'; letter <= 'Z' && line.bare != 0; ++letter) {
        if ((line.bare & letter_bit(letter)) == 0) {
            continue;
        }
        const bool axis = is_axis_letter(letter);
        if (has(GGroup::home) && axis) {
            if (settings_.axes.slot(letter) < 0) {
                log_.spot(SpotKind::axis_flag_without_axis);
            }
        } else if (forgotten == '\0' || line.column(letter) < line.column(forgotten)) {
            forgotten = letter;
        }
    }
    return forgotten == '\0' ||
           fail("program/no-number", line.column(forgotten),
                std::string(1, forgotten) + " without a number", "a number after the letter");
}

bool Interpreter::collect_axis_words(const Line& line) {
    axis_word_count_ = 0;
    for (const char letter : kAxisLetters) {
        if (!line.has(letter)) {
            continue;
        }
        used_ |= letter_bit(letter);
        const double value = line.value(letter);
        if (std::fabs(value) > kMaxAxisWord) {
            return fail("program/number-too-large", line.column(letter), word_text(letter, value),
                        "a position within 10 km");
        }
        const int slot = settings_.axes.slot(letter);
        if (slot >= 0) {
            axis_words_[axis_word_count_++] = {letter, slot, value};
        } else if (settings_.ignored_axes.find(letter) == std::string::npos &&
                   (reported_axes_ & letter_bit(letter)) == 0) {
            reported_axes_ |= letter_bit(letter);
            log_.error("program/missing-axis", line.column(letter), word_text(letter, value),
                       "axes " + settings_.axes.letters() + ", which this machine has",
                       missing_axis_hint(letter));
        }
    }
    return true;
}

void Interpreter::wait_words(const Line& line, std::vector<Command>& out) {
    const bool waits = std::any_of(line.m.begin(), line.m.end(), [](const CodeWord& word) {
        const MGroup group = m_group(word.tenths);
        return group == MGroup::tool_change || group == MGroup::spindle || group == MGroup::coolant;
    });
    if (waits) {
        emit(CommandKind::wait, out);
    }
}

void Interpreter::note_unused_words(const Line& line) {
    if ((line.present & ~used_) != 0) {
        log_.spot(SpotKind::unused_word);
    }
}

Motion Interpreter::after_g80() const {
    return settings_.resume_after_g80 ? state_.straight : Motion::none;
}

bool Interpreter::motion(const Line& line, std::vector<Command>& out) {
    if (has(GGroup::motion)) {
        const int word = code(GGroup::motion);
        state_.motion = word == 0         ? Motion::traverse
                        : word == 10      ? Motion::feed
                        : word == 20      ? Motion::arc_clockwise
                        : word == 30      ? Motion::arc_counterclockwise
                        : word / 10 == 38 ? Motion::probe
                        : word == 800     ? after_g80()
                                          : Motion::cycle;
        if (word <= 10) {
            state_.straight = state_.motion;
        }
        if (state_.motion == Motion::cycle && state_.cycle.tenths != word) {
            state_.cycle = {};
            state_.cycle.tenths = word;
        } else if (state_.motion != Motion::cycle) {
            state_.cycle = {};
        }
    }
    if (has(GGroup::offset) || code(GGroup::tool_length) == 431) {
        return true;  // its axis words are no targets
    }
    const bool arc =
        state_.motion == Motion::arc_clockwise || state_.motion == Motion::arc_counterclockwise;
    const bool arc_word = is_axis_motion(code(GGroup::motion)) && arc;
    const bool centre_words = line.has('I') || line.has('J') || line.has('K');
    if (axis_word_count_ == 0 && !arc_word && !(arc && centre_words)) {
        return true;
    }
    switch (state_.motion) {
        case Motion::none:
            return fail("program/no-motion", 1, "axis words without a motion word",
                        "G0, G1, G2 or G3 before them",
                        state_.straight == Motion::none ? std::string_view() : kResumeHint);
        case Motion::traverse:
        case Motion::feed:
        case Motion::probe:
            return straight(line, out);
        case Motion::arc_clockwise:
        case Motion::arc_counterclockwise:
            return this->arc(line, out);
        case Motion::cycle:
            return cycle(line, out);
    }
    return true;
}

AxisArray Interpreter::target() const {
    AxisArray result = state_.position_m;
    const bool machine_coordinates = has(GGroup::machine);
    for (std::size_t i = 0; i < axis_word_count_; ++i) {
        const AxisWord& word = axis_words_[i];
        const auto slot = static_cast<std::size_t>(word.slot);
        const double value_m = state_.metres(word.value);
        if (machine_coordinates) {
            result[slot] = value_m;
        } else {
            result[slot] = value_m + (state_.axis_relative(word.letter) ? result[slot]
                                                                        : state_.offset_m[slot]);
        }
    }
    return result;
}

Command& Interpreter::emit(CommandKind kind, std::vector<Command>& out) {
    Command& command = out.emplace_back();
    command.kind = kind;
    command.line = log_.line();
    command.target_m = state_.position_m;
    return command;
}

// Feed, exact stop and the new position: what every move has in common.
void Interpreter::emit_move(Command& command, const AxisArray& target_m, bool traverse) {
    command.rapid = traverse;
    command.exact_stop = state_.exact_stop;
    command.feed_m_s = traverse ? std::numeric_limits<double>::infinity() : state_.feed_m_s;
    command.target_m = target_m;
    command.e_word = std::any_of(axis_words_.begin(), axis_words_.begin() + axis_word_count_,
                                 [](const AxisWord& word) { return word.letter == 'E'; });
    state_.position_m = target_m;
}

bool Interpreter::straight(const Line& line, std::vector<Command>& out) {
    const bool traverse_word = state_.motion == Motion::traverse;
    const bool traverse = traverse_word && !settings_.rapid_is_feed;
    if (state_.inverse_time && !traverse_word && !line.has('F')) {
        return fail("program/inverse-time-feed", 1, "a move without F under G93",
                    "an F word on every feed move in inverse time mode");
    }
    if (state_.inverse_time && !traverse_word && !(line.value('F') > 0.0)) {
        return fail("program/bad-feed", line.column('F'), word_text('F', line.value('F')),
                    "F above 0 under G93");
    }
    const AxisArray target_m = target();
    const int z = settings_.axes.slot('Z');
    if (traverse && line.has('F') && z >= 0 &&
        target_m[static_cast<std::size_t>(z)] < state_.position_m[static_cast<std::size_t>(z)]) {
        log_.spot(SpotKind::plunge_at_traverse);
    } else if (traverse && line.has('F')) {
        log_.spot(SpotKind::traverse_with_feed);
    }
    if (state_.motion == Motion::probe) {
        log_.spot(SpotKind::probe_as_feed);
    }
    if (!traverse && !state_.inverse_time && !state_.feed_given) {
        log_.spot(SpotKind::feed_never_set);
    }
    Command& command = emit(CommandKind::line, out);
    emit_move(command, target_m, traverse);
    if (state_.inverse_time && !traverse_word) {
        command.feed_m_s = std::numeric_limits<double>::infinity();
        command.inverse_time_s = kSecondsPerMinute / line.value('F');
    }
    return true;
}

}  // namespace planner
