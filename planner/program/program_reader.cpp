#include "planner/program/program_reader.hpp"

#include <cmath>
#include <cstring>
#include <utility>

#include "planner/program/ascii.hpp"
#include "planner/program/number.hpp"

namespace planner {
namespace {

// Bytes plain_line() understands; axis letters are their slot.
constexpr std::int8_t kOther = -1, kBlank = 20, kG = 21, kF = 22, kComment = 23, kIgnored = 24,
                      kLineEnd = 25;

constexpr char kEndOfText = '\x1A';  // closes texts of some old systems

// Blank lines, comments and a closing '%' may follow the end of a program.
bool harmless_after_end(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t");
    return first == std::string_view::npos || text[first] == '%' || text[first] == '(' ||
           text[first] == ';';
}

bool has_control_byte(std::string_view text) {
    bool found = false;
    for (const char c : text) {
        found |= (static_cast<unsigned char>(c) < 0x20 && c != '\t') || c == 0x7F;
    }
    return found;
}

std::string_view without_line_end(std::string_view text) {
    while (!text.empty() && (text.back() == '\r' || text.back() == kEndOfText)) {
        text.remove_suffix(1);
    }
    return text;
}

/// Where the next line begins, from the line break or comment at `p`; null where that is unusual.
const char* plain_end(const char* p, const char* end) {
    if (*p == '\n') {
        return p + 1;
    }
    const void* const found = std::memchr(p, '\n', static_cast<std::size_t>(end - p));
    if (found == nullptr) {
        return nullptr;
    }
    const char* const line_break = static_cast<const char*>(found);
    const auto rest = without_line_end({p, static_cast<std::size_t>(line_break - p)});
    return has_control_byte(rest) ? nullptr : line_break + 1;
}

}  // namespace

ProgramReader::ProgramReader(ProgramSettings settings, std::string file)
    : settings_(std::move(settings)),
      log_(std::move(file)),
      lexer_(settings_, log_),
      interpreter_(settings_, log_) {
    const auto set = [&](char upper, int meaning) {
        for (const char c : {upper, static_cast<char>(upper - 'A' + 'a')}) {
            letters_[static_cast<unsigned char>(c)] = static_cast<std::int8_t>(meaning);
        }
    };
    letters_.fill(kOther);
    for (int slot = 0; slot < settings_.axes.count(); ++slot) {
        set(settings_.axes.letter(slot), slot);
    }
    for (const char letter : settings_.ignored_axes) {
        if (is_letter(letter) && settings_.axes.slot(to_upper(letter)) < 0) {
            set(to_upper(letter), kIgnored);
        }
    }
    set('G', kG);
    set('F', kF);
    for (const auto& [word, rule] :
         settings_.words) {  // whoever redefines words gets the careful way
        if (word.size() > 1 && is_letter(word[0]) && is_digit(word[1]) &&
            (to_upper(word[0]) != 'G' || word == "G0" || word == "G1")) {
            set(to_upper(word[0]), kOther);
        }
    }
    letters_[' '] = letters_['\t'] = kBlank;
    letters_[';'] = kComment;
    letters_['\n'] = letters_['\r'] = kLineEnd;
}

void ProgramReader::read(std::string_view block, std::vector<Command>& out) {
    while (!block.empty()) {
        if (carry_.empty() && !ended_) {
            const char* const next = plain_line(block.data(), block.data() + block.size(), out);
            if (next != nullptr) {
                block.remove_prefix(static_cast<std::size_t>(next - block.data()));
                continue;
            }
        }
        const void* const found = std::memchr(block.data(), '\n', block.size());
        if (found == nullptr) {
            keep(block);
            return;
        }
        const auto length =
            static_cast<std::size_t>(static_cast<const char*>(found) - block.data());
        if (carry_.empty()) {
            line(block.substr(0, length), out);
        } else {
            keep(block.substr(0, length));
            line(carry_, out);
            carry_.clear();
        }
        block.remove_prefix(length + 1);
    }
}

// Holds an unfinished line, and of an endless one no more than shows that it is too long.
void ProgramReader::keep(std::string_view piece) {
    const std::size_t room = kMaxLine + 1 - carry_.size();
    carry_.append(piece.substr(0, room));
}

void ProgramReader::finish(std::vector<Command>& out) {
    if (!carry_.empty()) {
        const std::string last = std::exchange(carry_, {});
        line(last, out);
    }
    if (!any_words_ && log_.notes().errors == 0) {
        log_.start_line(0, {});
        log_.error("program/empty", 0, "no program word",
                   "a program with at least one word such as G1");
    }
}

void ProgramReader::line(std::string_view text, std::vector<Command>& out) {
    ProgramNotes& notes = log_.notes();
    ++notes.lines;
    text = without_line_end(text);
    if (notes.lines == 1 && text.starts_with("\xEF\xBB\xBF")) {
        text.remove_prefix(3);
    }
    const std::size_t before = out.size();
    if (ended_) {
        if (!harmless_after_end(text)) {
            log_.start_line(notes.lines, text);
            log_.spot(SpotKind::text_after_end);
        }
    } else {
        careful_line(text, out);
    }
    notes.commands += out.size() - before;
}

void ProgramReader::careful_line(std::string_view text, std::vector<Command>& out) {
    if (text.empty()) {
        return;
    }
    log_.start_line(log_.notes().lines, text);
    if (text.size() > kMaxCodeLine) {
        const std::size_t first = text.find_first_not_of(" \t");
        const std::size_t comment = text.substr(0, kMaxCodeLine).find(';');
        const bool comment_only = first != std::string_view::npos &&
                                  (text[first] == '(' && text.find(')') + 1 == text.size());
        if (text.size() > kMaxLine || (comment == std::string_view::npos && !comment_only)) {
            log_.error("program/line-too-long", kMaxCodeLine, "a line that goes on",
                       "words within 8192 bytes and a line within 1 MiB", "is this a program?");
            return;
        }
    }
    switch (lexer_.read(text, words_)) {
        case LineKind::nothing:
            break;
        case LineKind::not_text:
            ended_ = true;
            break;
        case LineKind::percent:
            ended_ = any_words_ || opened_by_percent_;
            opened_by_percent_ = true;
            log_.notes().ended = ended_;
            break;
        case LineKind::words:
            any_words_ = true;
            interpreter_.run(words_, out);
            ended_ = interpreter_.ended();
            break;
    }
}

// Scans a line of nothing but G0 or G1, axis words and F: the bulk of every program. Returns where the
// next line begins; null for anything unusual and for a line that does not end in the block.
const char* ProgramReader::scan_plain(const char* begin, const char* end, PlainWords& words) const {
    const char* p = begin;
    bool ignored = false;
    for (;;) {
        while (p != end && letters_[static_cast<unsigned char>(*p)] == kBlank) {
            ++p;
        }
        if (p == end) {
            return nullptr;
        }
        const std::int8_t meaning = letters_[static_cast<unsigned char>(*p)];
        if (meaning == kLineEnd || meaning == kComment) {
            const char* const next = plain_end(p, end);
            return next != nullptr && next - begin <= static_cast<std::ptrdiff_t>(kMaxCodeLine)
                       ? next
                       : nullptr;
        }
        if (meaning == kOther) {
            return nullptr;
        }
        const NumberScan number = scan_number(p + 1, end);
        p = number.next;
        if (p == nullptr || (p != end && (letters_[static_cast<unsigned char>(*p)] == kOther ||
                                          (*p | 0x20) == 'e'))) {
            return nullptr;
        }
        if (meaning == kG) {
            if (words.has_g || (number.value != 0.0 && number.value != 1.0) ||
                std::signbit(number.value)) {
                return nullptr;
            }
            words.has_g = true;
            words.motion = number.value == 0.0 ? Motion::traverse : Motion::feed;
        } else if (meaning == kF) {
            if (words.feed != 0.0 || !(number.value > 0.0)) {
                return nullptr;
            }
            words.feed = number.value;
        } else if (!(std::fabs(number.value) <= kMaxAxisWord)) {
            return nullptr;
        } else if (meaning == kIgnored) {
            if (std::exchange(ignored, true)) {
                return nullptr;
            }
        } else {
            const auto slot = static_cast<std::uint8_t>(meaning);
            const std::uint32_t bit = std::uint32_t{1} << slot;
            if ((words.seen & bit) != 0) {
                return nullptr;
            }
            words.seen |= bit;
            words.values[slot] = number.value;
        }
    }
}

// Does what careful_line() would do for a plain line, or leaves it to that before anything has changed.
const char* ProgramReader::plain_line(const char* begin, const char* end,
                                      std::vector<Command>& out) {
    ModalState& state = interpreter_.state();
    PlainWords words;
    words.motion = state.motion;
    const char* const next = scan_plain(begin, end, words);
    if (next == nullptr) {
        return nullptr;
    }
    constexpr double kSecondsPerMinute = 60.0;
    const bool traverse = words.motion == Motion::traverse;
    const bool feed_word = words.feed != 0.0;
    const double feed_m_s =
        feed_word ? state.metres(words.feed) / kSecondsPerMinute : state.feed_m_s;
    const bool feed_known = feed_word || state.feed_given;
    const bool worth_a_note =
        (feed_word && (traverse || feed_m_s > kFastFeed_m_s)) || (!traverse && !feed_known);
    const bool straight = traverse ? !settings_.rapid_is_feed : words.motion == Motion::feed;
    if (words.seen == 0 || !straight || worth_a_note || state.inverse_time) {
        return nullptr;
    }
    state.motion = words.motion;
    state.cycle.tenths = 0;
    state.feed_m_s = feed_m_s;
    state.feed_given = feed_known;
    ProgramNotes& notes = log_.notes();
    notes.feed_stated |= feed_word;
    ++notes.lines;
    ++notes.commands;
    any_words_ = true;

    for (std::size_t slot = 0; words.seen != 0; ++slot, words.seen >>= 1U) {
        if ((words.seen & 1U) != 0) {
            const double value_m = state.metres(words.values[slot]);
            const bool relative =
                state.axis_relative(settings_.axes.letter(static_cast<int>(slot)));
            state.position_m[slot] =
                value_m + (relative ? state.position_m[slot] : state.offset_m[slot]);
        }
    }
    Command& command = out.emplace_back();
    command.line = notes.lines;
    command.rapid = traverse;
    command.exact_stop = state.exact_stop;
    command.feed_m_s = traverse ? std::numeric_limits<double>::infinity() : feed_m_s;
    command.target_m = state.position_m;
    return next;
}

}  // namespace planner
