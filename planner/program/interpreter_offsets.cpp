#include <cmath>

#include "planner/program/interpreter.hpp"
#include "planner/units/units_text.hpp"

namespace planner {
namespace {

constexpr double kMostTools = 1e5;  // above any tool number in a machine file

}  // namespace

void Interpreter::sum_offsets() {
    for (std::size_t i = 0; i < state_.offset_m.size(); ++i) {
        state_.offset_m[i] =
            state_.system_m[state_.system][i] + state_.shift_m[i] + state_.tool_m[i];
    }
}

void Interpreter::select_system() {
    if (!has(GGroup::coordinate_system)) {
        return;
    }
    const int word = code(GGroup::coordinate_system);
    constexpr int kLastWholeSystem = 590;
    state_.system =
        static_cast<std::size_t>(word <= kLastWholeSystem ? (word - 540) / 10 : word - 591 + 6);
    sum_offsets();
}

// Via the intermediate point where one is given, then home; letters without a number only name
// axes.
bool Interpreter::home(const Line& line, std::vector<Command>& out) {
    if (has(GGroup::motion)) {
        log_.spot(SpotKind::home_with_motion_word);
    }
    if (has(GGroup::offset)) {
        return fail("program/axis-words", column(GGroup::home), "a home word beside G10 or G92",
                    "one word that uses the axis words", "write them on two lines");
    }
    if (code(GGroup::home) == 300) {
        log_.spot(SpotKind::home_by_other_word);
    }
    if (axis_word_count_ > 0) {
        Command& command = emit(CommandKind::line, out);
        emit_move(command, target(), true);
    }
    AxisArray home_m = state_.position_m;
    const AxisSet& axes = settings_.axes;
    bool named = false;
    for (int slot = 0; slot < axes.count(); ++slot) {
        named = named || line.has(axes.letter(slot)) ||
                (line.bare & letter_bit(axes.letter(slot))) != 0;
    }
    for (int slot = 0; slot < axes.count(); ++slot) {
        const char letter = axes.letter(slot);
        const bool this_one = line.has(letter) || (line.bare & letter_bit(letter)) != 0;
        if (letter != 'E' && (!named || this_one || settings_.home_all_axes)) {
            home_m[static_cast<std::size_t>(slot)] =
                settings_.home_m[static_cast<std::size_t>(slot)];
        }
    }
    Command& command = emit(CommandKind::line, out);
    emit_move(command, home_m, true);
    command.exact_stop = true;
    return true;
}

bool Interpreter::offsets(const Line& line) {
    if (!has(GGroup::offset)) {
        return true;
    }
    const int word = code(GGroup::offset);
    const bool takes_axes = word == 100 || word == 920 || word == 520;
    const int motion_word = code(GGroup::motion);
    if (takes_axes && motion_word >= 0 && motion_word != 800 && axis_word_count_ > 0) {
        return fail("program/axis-words", column(GGroup::offset),
                    'G' + format_number(word / 10.0) + " beside a motion word",
                    "one word that uses the axis words", "write them on two lines");
    }
    if (word == 100) {
        return set_system_origin(line);
    }
    const bool local = word == 520;
    if (local != state_.local_shift && state_.shift_m != AxisArray{}) {
        return fail("program/offset-words", column(GGroup::offset), "G52 and G92 together",
                    "one of them", "controls differ in what both together do");
    }
    state_.local_shift = local;
    if (local || word == 920) {
        return set_shift(line);
    }
    if (word == 921) {
        state_.kept_shift_m = {};
    }
    state_.shift_m = word == 923 ? state_.kept_shift_m : AxisArray{};
    sum_offsets();
    return true;
}

// G92: the value each axis shall read where it is; G52: how far program zero is from that of the
// work offset.
bool Interpreter::set_shift(const Line& line) {
    const bool local = code(GGroup::offset) == 520;
    const bool any_axis_word =
        axis_word_count_ > 0 || (line.present & used_ & ~letter_bit('F')) != 0;
    if (!any_axis_word) {
        return fail("program/offset-words", column(GGroup::offset),
                    local ? "G52 without an axis word" : "G92 without an axis word",
                    local ? "the shift of each axis, such as G52 X10"
                          : "the value each axis shall read, such as G92 X0");
    }
    for (std::size_t i = 0; i < axis_word_count_; ++i) {
        const auto slot = static_cast<std::size_t>(axis_words_[i].slot);
        const double value_m = state_.metres(axis_words_[i].value);
        if (local) {
            state_.shift_m[slot] = value_m;
            continue;
        }
        state_.offset_m[slot] = state_.position_m[slot] - value_m;
        state_.shift_m[slot] =
            state_.offset_m[slot] - state_.system_m[state_.system][slot] - state_.tool_m[slot];
    }
    if (local) {
        sum_offsets();
    } else {
        state_.kept_shift_m = state_.shift_m;
    }
    return true;
}

// G43 H: a length of the machine file on Z; G43.1: the line's own axis words; G49: none.
bool Interpreter::tool_length(const Line& line) {
    const int word = code(GGroup::tool_length);
    if (word < 0) {
        return true;
    }
    if (word == 431) {
        const int motion_word = code(GGroup::motion);
        if (axis_word_count_ == 0 || has(GGroup::offset) || has(GGroup::home) ||
            (motion_word >= 0 && motion_word != 800)) {
            return fail("program/offset-words", column(GGroup::tool_length),
                        "G43.1 beside other words or without an axis word",
                        "the tool's offset alone on its line, such as G43.1 Z12.5");
        }
        for (std::size_t i = 0; i < axis_word_count_; ++i) {
            state_.tool_m[static_cast<std::size_t>(axis_words_[i].slot)] =
                state_.metres(axis_words_[i].value);
        }
        sum_offsets();
        return true;
    }
    state_.tool_m = {};
    const double number = line.has('H') ? line.value('H') : -1.0;
    const int z = settings_.axes.slot('Z');
    if (word == 430 && number != 0.0 && z >= 0) {
        const auto known = settings_.tool_lengths_m.find(
            number == std::floor(number) && number < kMostTools ? static_cast<int>(number) : -1);
        if (known == settings_.tool_lengths_m.end()) {
            log_.spot(SpotKind::tool_length_ignored);
        } else {
            state_.tool_m[static_cast<std::size_t>(z)] = known->second;
        }
    }
    sum_offsets();
    return true;
}

bool Interpreter::set_system_origin(const Line& line) {
    used_ |= letter_bit('L') | letter_bit('P');
    const double kind = line.has('L') ? line.value('L') : 0.0;
    if (kind != 2.0 && kind != 20.0) {
        // Without L2 this is not the standard's G10; in one family of controls it moves the
        // filament.
        log_.unknown_word(line.has('L') ? "G10 L" + format_number(kind) : "G10 without L2", true);
        return true;
    }
    const double p = line.has('P') ? line.value('P') : 0.0;
    if (p != std::floor(p) || p < 0.0 || p > static_cast<double>(kCoordinateSystems)) {
        return fail("program/offset-words", line.column('P'), 'P' + format_number(p, 8),
                    "a coordinate system P1 to P9 (P0: the one in use)");
    }
    const std::size_t system = p == 0.0 ? state_.system : static_cast<std::size_t>(p) - 1;
    for (std::size_t i = 0; i < axis_word_count_; ++i) {
        const auto slot = static_cast<std::size_t>(axis_words_[i].slot);
        const double value_m = state_.metres(axis_words_[i].value);
        state_.system_m[system][slot] =
            kind == 2.0
                ? value_m
                : state_.position_m[slot] - value_m - state_.shift_m[slot] - state_.tool_m[slot];
    }
    sum_offsets();
    return true;
}

}  // namespace planner
