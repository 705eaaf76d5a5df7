#include "planner/program/plain_line.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <string_view>

#include "planner/program/ascii.hpp"
#include "planner/program/interpreter.hpp"
#include "planner/program/line.hpp"
#include "planner/program/number.hpp"

namespace planner {
namespace {

// Bytes of a plain line that are no axis letters.
constexpr std::uint8_t kG = 21, kF = 22, kIgnored = 23, kLineEnd = 24, kComment = 25, kBlank = 26,
                       kOther = 27;

/// Where the next line begins, from the '\r' or ';' at `p`; null where that is unusual.
const char* after_rest(const char* p, const char* end) {
    const auto* const line_break =
        static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p)));
    std::string_view rest(p, static_cast<std::size_t>(line_break - p));
    rest.remove_suffix(rest.ends_with('\r') ? 1 : 0);
    return std::any_of(rest.begin(), rest.end(), is_control) ? nullptr : line_break + 1;
}

}  // namespace

struct PlainLineReader::Words {
    std::array<double, kMaxAxes> values;  // in the order of the text
    std::array<std::uint8_t, kMaxAxes> slots;
    std::size_t count;
    double feed;  // 0: none
    Motion motion;
};

PlainLineReader::PlainLineReader(const ProgramSettings& settings)
    : e_slot_(settings.axes.slot('E')), rapid_is_feed_(settings.rapid_is_feed) {
    const auto set = [&](char upper, int meaning) {
        for (const char c : {upper, static_cast<char>(upper - 'A' + 'a')}) {
            meaning_[static_cast<unsigned char>(c)] = static_cast<std::uint8_t>(meaning);
        }
    };
    meaning_.fill(kOther);
    for (int slot = 0; slot < settings.axes.count(); ++slot) {
        set(settings.axes.letter(slot), slot);
    }
    for (const char letter : settings.ignored_axes) {
        if (is_letter(letter) && settings.axes.slot(to_upper(letter)) < 0) {
            set(to_upper(letter), kIgnored);
        }
    }
    set('G', kG);
    set('F', kF);
    for (const auto& [word, rule] :
         settings.words) {  // whoever redefines words gets the careful way
        if (word.size() > 1 && is_letter(word[0]) && is_digit(word[1]) &&
            (to_upper(word[0]) != 'G' || word == "G0" || word == "G1")) {
            set(to_upper(word[0]), kOther);
        }
    }
    meaning_[' '] = meaning_['\t'] = kBlank;
    meaning_[';'] = kComment;
    meaning_['\n'] = meaning_['\r'] = kLineEnd;
}

const char* PlainLineReader::read(const char* begin, const char* end, ModalState& state,
                                  ProgramNotes& notes, std::vector<Command>& out) const {
    while (begin < end) {
        Words words;
        words.motion = state.motion;
        const char* const next = scan(begin, end, words);
        if (next == nullptr || !obey(words, state, notes, out)) {
            break;
        }
        begin = next;
    }
    return begin;
}

// Returns where the next line begins; null for a line that is not plain.
inline const char* PlainLineReader::scan(const char* begin, const char* end, Words& words) const {
    const char* p = begin;
    std::uint32_t seen = 0;  // bit per meaning
    std::size_t count = 0;
    double feed = 0.0;
    for (;;) {
        const std::uint8_t meaning = meaning_[static_cast<unsigned char>(*p)];
        if (meaning >= kLineEnd) {
            if (meaning == kBlank) {
                ++p;
                continue;
            }
            if (meaning == kOther) return nullptr;
            words.count = count;
            words.feed = feed;
            const char* const next = *p == '\n' ? p + 1 : after_rest(p, end);
            return next != nullptr && next - begin <= static_cast<std::ptrdiff_t>(kMaxCodeLine)
                       ? next
                       : nullptr;
        }
        if ((seen >> meaning & 1U) != 0) {
            return nullptr;
        }
        seen |= std::uint32_t{1} << meaning;
        if (meaning == kG && (p[1] == '1' || p[1] == '0') && p[2] == ' ') {
            words.motion = p[1] == '0' ? Motion::traverse : Motion::feed;
            p += 3;
            continue;
        }
        const NumberScan number = scan_short_number(p + 1, end);
        p = number.next;
        if (p == nullptr) {
            return nullptr;
        }
        if (*p == ' ') {
            ++p;
        } else if ((*p | 0x20) == 'e') {
            return nullptr;
        }
        if (meaning < kMaxAxes) {
            words.values[count] = number.value;
            words.slots[count] = meaning;
            ++count;
            if (!(std::fabs(number.value) <= kMaxAxisWord)) {
                return nullptr;
            }
        } else if (meaning == kG) {
            if ((number.value != 0.0 && number.value != 1.0) || std::signbit(number.value)) {
                return nullptr;
            }
            words.motion = number.value == 0.0 ? Motion::traverse : Motion::feed;
        } else if (meaning == kF) {
            feed = number.value;
            if (!(feed > 0.0)) {
                return nullptr;
            }
        } else if (!(std::fabs(number.value) <= kMaxAxisWord)) {
            return nullptr;
        }
    }
}

inline bool PlainLineReader::obey(const Words& words, ModalState& state, ProgramNotes& notes,
                                  std::vector<Command>& out) const {
    constexpr double kSecondsPerMinute = 60.0;
    const bool traverse = words.motion == Motion::traverse;
    const bool feed_word = words.feed != 0.0;
    const double feed_m_s =
        feed_word ? state.metres(words.feed) / kSecondsPerMinute : state.feed_m_s;
    const bool feed_known = feed_word || state.feed_given;
    const bool worth_a_note =
        (feed_word && (traverse || feed_m_s > kFastFeed_m_s || feed_m_s < kTinyFeed_m_s)) ||
        (!traverse && !feed_known);
    const bool straight = traverse ? !rapid_is_feed_ : words.motion == Motion::feed;
    if (words.count == 0 || !straight || worth_a_note || state.inverse_time) {
        return false;
    }
    state.motion = state.straight = words.motion;
    if (state.cycle.tenths != 0) {
        state.cycle = {};
    }
    state.feed_m_s = feed_m_s;
    state.feed_given = feed_known;
    notes.feed_stated |= feed_word;
    ++notes.lines;
    ++notes.commands;

    static constexpr Command kStraight{};  // to be copied: g++ clears a new one byte by byte
    Command& command = out.emplace_back(kStraight);
    command.line = notes.lines;
    command.rapid = traverse;
    command.exact_stop = state.exact_stop;
    command.feed_m_s = traverse ? std::numeric_limits<double>::infinity() : feed_m_s;
    command.target_m = state.position_m;
    for (std::size_t i = 0; i < words.count; ++i) {
        const std::size_t slot = words.slots[i];
        const bool e_word = static_cast<int>(slot) == e_slot_;
        const bool relative = e_word ? state.axis_relative('E') : state.relative;
        command.e_word = command.e_word || e_word;
        const double target_m = state.metres(words.values[i]) +
                                (relative ? state.position_m[slot] : state.offset_m[slot]);
        command.target_m[slot] = target_m;
        state.position_m[slot] = target_m;
    }
    return true;
}

}  // namespace planner
