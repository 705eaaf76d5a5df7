#include <algorithm>
#include <cmath>

#include "planner/program/ascii.hpp"
#include "planner/program/codes.hpp"
#include "planner/program/lexer.hpp"
#include "planner/program/number.hpp"
#include "planner/units/units_text.hpp"

namespace planner {
namespace {

constexpr double kMaxCode = 99999.0;

int code_tenths(double number) {
    return static_cast<int>(std::lround(number * 10.0));
}

bool is_code(double number) {
    constexpr double kSame = 1e-6;  // of a tenth: far below any digit a word number has
    return number >= 0.0 && number <= kMaxCode &&
           std::fabs(number * 10.0 - code_tenths(number)) <= kSame;
}

std::string code_text(char letter, int tenths) {
    std::string text = letter + std::to_string(tenths / 10);
    if (tenths % 10 != 0) {
        text += '.';
        text += static_cast<char>('0' + tenths % 10);
    }
    return text;
}

// "SIN[": so that "X SIN[30]" is a value and not a name.
bool function_follows(std::string_view text) {
    const auto* const letters = std::find_if_not(text.begin(), text.end(), is_letter);
    const auto* const bracket = std::find_if_not(letters, text.end(), is_blank);
    return letters != text.begin() && bracket != text.end() && *bracket == '[';
}

bool part_of_name(char c) {
    return is_letter(c) || is_digit(c) || c == '_' || c == '.';
}

bool moves(int tenths) {
    return g_group(tenths) == GGroup::motion && tenths != 800;
}

/// What stands behind a word that nobody knows, as far as a comment.
struct Arguments {
    bool motion_word = false, axis_value = false;
};

/// The number of a G word times ten; -1 where there is none.
int tenths_at(std::string_view digits) {
    const NumberScan scan = scan_number(digits.data(), digits.data() + digits.size());
    return scan.next != nullptr && is_code(scan.value) ? code_tenths(scan.value) : -1;
}

Arguments arguments(std::string_view text) {
    text = text.substr(0, text.find_first_of(";("));
    Arguments found;
    for (std::size_t i = 0; i + 1 < text.size(); ++i) {
        const char letter = to_upper(text[i]);
        const char next = text[i + 1];
        if (i > 0 && is_letter(text[i - 1])) continue;
        const bool number = is_digit(next) || next == '-' || next == '+' || next == '.';
        found.motion_word =
            found.motion_word || (letter == 'G' && moves(tenths_at(text.substr(i + 1))));
        found.axis_value =
            found.axis_value || (is_axis_letter(letter) && (number || next == '#' || next == '['));
    }
    return found;
}

/// Where the value of `key` begins: after a letter, or after the '=' behind a name.
std::size_t value_after(std::string_view arguments, std::string_view key) {
    const auto same = [](char a, char b) { return to_upper(a) == to_upper(b); };
    const bool letter = key.size() == 1;
    for (std::size_t at = 0; at + key.size() < arguments.size(); ++at) {
        const std::string_view here = arguments.substr(at, key.size());
        if (!std::equal(here.begin(), here.end(), key.begin(), same) ||
            (at > 0 && part_of_name(arguments[at - 1]) &&
             (!letter || !is_digit(arguments[at - 1])))) {
            continue;
        }
        const std::size_t next = arguments.find_first_not_of(" \t", at + key.size());
        if (next != std::string_view::npos && arguments[next] == '=') {
            return next + 1;
        }
        if (letter && !is_letter(arguments[at + 1])) {
            return at + 1;
        }
    }
    return std::string_view::npos;
}

}  // namespace

bool Lexer::starts_name() const {
    const char second = at(position_ + 1);
    return !any_word_ && (is_letter(second) || second == '_') &&
           !function_follows(rest(position_ + 1));
}

bool Lexer::bare_follows() const {
    const char next = at(position_);
    return is_letter(next) ? !function_follows(rest(position_))
                           : next == '\0' || next == ';' || next == '(';
}

Lexer::Step Lexer::word() {
    const std::size_t start = position_;
    const char letter = to_upper(at(start));
    const char third = at(start + 2);
    const bool code_letter = letter == 'G' || letter == 'M';
    if (code_letter && to_upper(at(start + 1)) == 'O' && !is_letter(third) && third != '_') {
        return zero_code(letter, start);
    }
    if (starts_name()) {
        return named_line(start);
    }
    if (letter == 'O') {
        const bool text = after_m_word_ && is_letter(at(start + 1));
        return text ? free_text(start) : program_number(start);
    }
    ++position_;
    skip_blanks();
    return bare_follows() ? bare_letter(letter, start) : value_word(letter, start);
}

Lexer::Step Lexer::bare_letter(char letter, std::size_t start) {
    if (after_m_word_) {
        return free_text(start);
    }
    if (own_argument(letter)) {
        return Step::next;
    }
    if (letter == 'G' || letter == 'M' || letter == 'N') {
        while (start > 0 && is_letter(at(start - 1))) {
            --start;  // "Xnan": the X is what lacks its number
        }
        return fail("program/no-number", start, "a number after the letter");
    }
    if ((line_->bare & letter_bit(letter)) == 0) {
        line_->bare |= letter_bit(letter);
        line_->columns[static_cast<std::size_t>(letter - 'A')] = start + 1;
    }
    any_word_ = true;
    return Step::next;
}

Lexer::Step Lexer::value_word(char letter, std::size_t start) {
    const bool plain = is_digit(at(position_)) || at(position_) == '.' || at(position_) == '-' ||
                       at(position_) == '+';
    const bool spaced = position_ > start + 1;
    double number = 0.0;
    bool bare = false;
    if (!values_.value(position_, number)) {
        return after_m_word_ ? free_text(start) : value_failed();
    }
    if (plain && to_upper(at(position_)) == 'E' && !glued_e_is_a_word(at(start))) {
        return fail("program/exponent", start, "a plain decimal number",
                    "RS274/NGC numbers have no exponent; put a blank before an E word");
    }
    if (!values_.bare_arithmetic(position_, number, bare)) {
        return value_failed();
    }
    if (bare) {
        log_.spot(SpotKind::bare_arithmetic);
    }
    if (spaced) {
        log_.spot(SpotKind::space_in_word);
    }
    if (letter == 'N' && !any_word_) {
        numbered_ = true;
        return Step::next;
    }
    if (letter == 'G' || letter == 'M') {
        return code_word(letter, start, number);
    }
    if (const WordRule* const rule = rule_for(letter, number)) {
        any_word_ = true;
        return mapped_word(letter, *rule);
    }
    if (own_argument(letter)) {
        return Step::next;
    }
    if (line_->has(letter)) {
        return fail("program/repeated-word", start, "each letter once on a line");
    }
    line_->present |= letter_bit(letter);
    line_->values[static_cast<std::size_t>(letter - 'A')] = number;
    line_->columns[static_cast<std::size_t>(letter - 'A')] = start + 1;
    any_word_ = true;
    after_m_word_ = false;
    return Step::next;
}

// "X1E5" is two words. "X1e5" changes case inside a line and a machine without E has no E word:
// those mean an exponent.
bool Lexer::glued_e_is_a_word(char before) {
    const bool same_case = (before >= 'a') == (at(position_) >= 'a');
    const bool known =
        settings_.axes.slot('E') >= 0 || settings_.ignored_axes.find('E') != std::string::npos;
    if (text_.substr(0, position_).find(' ') != std::string_view::npos) {
        log_.spot(SpotKind::glued_e);
    }
    return same_case && known;
}

Lexer::Step Lexer::zero_code(char letter, std::size_t start) {
    log_.spot(SpotKind::letter_o_for_zero);
    position_ = start + 2;
    double number = 0.0;
    if (is_digit(at(position_)) && !values_.value(position_, number)) {
        return value_failed();
    }
    return code_word(letter, start, number);
}

const WordRule* Lexer::rule_for(char letter, double number) const {
    if ((mapped_letters_ & letter_bit(letter)) == 0 || !is_code(number)) {
        return nullptr;
    }
    const auto rule = settings_.words.find(code_text(letter, code_tenths(number)));
    return rule == settings_.words.end() ? nullptr : &rule->second;
}

Lexer::Step Lexer::code_word(char letter, std::size_t start, double number) {
    any_word_ = true;
    if (!(number >= 0.0) || number > kMaxCode) {
        return fail("program/no-number", start, "a word number from 0 to 99999");
    }
    if (!is_code(number)) {
        const std::string text = letter + format_number(number, 8);
        const auto rule = settings_.words.find(text);
        return rule != settings_.words.end() ? mapped_word(letter, rule->second)
                                             : unknown_code(text, letter);
    }
    if (const WordRule* const rule = rule_for(letter, number)) {
        return mapped_word(letter, *rule);
    }
    return known_code(letter, {code_tenths(number), start + 1});
}

Lexer::Step Lexer::known_code(char letter, const CodeWord& code) {
    after_m_word_ = letter == 'M';
    if (letter == 'G' && g_group(code.tenths) != GGroup::unknown) {
        line_->g.push_back(code);
        return Step::next;
    }
    if (letter == 'M' && m_group(code.tenths) != MGroup::unknown) {
        line_->m.push_back(code);
        return Step::next;
    }
    if (letter == 'G' && !refused(code.tenths).empty()) {
        return fail("program/not-simulated", code.column - 1, refused(code.tenths),
                    "or say what it does under [program.words]");
    }
    return unknown_code(code_text(letter, code.tenths), letter);
}

/// A motion word stands on this line, before or behind: axis words are its own.
bool Lexer::beside_motion() const {
    return std::any_of(line_->g.begin(), line_->g.end(),
                       [](const CodeWord& word) { return moves(word.tenths); }) ||
           arguments(rest(position_)).motion_word;
}

/// The letter is an argument of an unknown word before, and no word of a motion.
bool Lexer::own_argument(char letter) const {
    constexpr std::string_view kOfMotions = "FGIJKMNR";
    return own_arguments_ && !is_axis_letter(letter) &&
           kOfMotions.find(letter) == std::string_view::npos;
}

// A word whose arguments are skipped, on a line that moves.
Lexer::Step Lexer::beside(char letter) {
    own_arguments_ = true;
    after_m_word_ = letter == 'M';
    return Step::next;
}

// An M word in front may be followed by text that looks like motion: only a G word's motion may
// stand behind it.
Lexer::Step Lexer::unknown_code(const std::string& word, char letter) {
    const bool moving = std::any_of(line_->g.begin(), line_->g.end(),
                                    [](const CodeWord& known) { return moves(known.tenths); });
    if (moving || (letter == 'G' && beside_motion())) {
        log_.unknown_word(word, letter == 'G',
                          arguments(rest(position_)).axis_value || axis_word_before());
        return beside(letter);
    }
    const Step step = skip_rest(word, letter == 'G');
    if (letter == 'G') {
        for (const char axis : kAxisLetters) {  // what stands before it belongs to it as well
            line_->present &= ~letter_bit(axis);
        }
    }
    return step;
}

/// The value of `key` among the arguments, wherever they stand.
bool Lexer::mapped_value(std::string_view key, double& value, bool& found) {
    const std::string_view arguments =
        rest(position_).substr(0, rest(position_).find_first_of(";("));
    const std::size_t place = key.empty() ? std::string_view::npos : value_after(arguments, key);
    found = place != std::string_view::npos;
    std::size_t at = position_ + place;
    return !found || values_.value(at, value);
}

Lexer::Step Lexer::mapped_word(char letter, const WordRule& rule) {
    MappedWord word{rule.effect};
    bool valued = false;
    bool repeated = false;
    if (!mapped_value(rule.value_key, word.value, valued) ||
        !mapped_value(rule.repeat_key, word.repeats, repeated)) {
        return value_failed();
    }
    const bool lacks_value = !rule.value_key.empty() && !valued;
    if (lacks_value && rule.effect == WordEffect::call) {
        word.value = -1.0;  // an error of the call
    }
    const bool silent = rule.effect == WordEffect::ignore || rule.effect == WordEffect::text ||
                        (lacks_value && rule.effect == WordEffect::set_acceleration);
    if (!silent) {
        line_->mapped.push_back(word);
    }
    const bool takes_no_arguments =
        rule.effect == WordEffect::relative_e || rule.effect == WordEffect::absolute_e;
    if (takes_no_arguments) {
        return Step::next;
    }
    return rule.effect != WordEffect::text && beside_motion() ? beside(letter) : end_of_arguments();
}

// What follows a program number are words, and what follows another O word has been read before
// (flow_line.hpp).
Lexer::Step Lexer::program_number(std::size_t start) {
    std::size_t end = start + 1;
    while (is_digit(at(end)) || is_blank(at(end))) {
        ++end;
    }
    if (any_word_ || !is_digit(at(text_.find_first_not_of(" \t", start + 1)))) {
        return fail("program/flow", start, "an O word first on its line, with its number");
    }
    position_ = end;
    any_word_ = true;
    return Step::next;
}

Lexer::Step Lexer::named_line(std::size_t start) {
    std::size_t end = start;
    while (part_of_name(at(end))) {
        ++end;
    }
    std::string name(text_.substr(start, std::min(end - start, kMaxNameLength)));
    std::transform(name.begin(), name.end(), name.begin(), to_upper);
    position_ = end;
    const auto rule = settings_.words.find(name);
    any_word_ = true;
    if (rule == settings_.words.end()) {
        return skip_rest(name, true);
    }
    const Step step = mapped_word('\0', rule->second);
    return step == Step::next ? end_of_arguments() : step;  // its line is its own
}

bool Lexer::axis_word_before() const {
    return std::any_of(kAxisLetters.begin(), kAxisLetters.end(),
                       [&](char axis) { return line_->has(axis); });
}

Lexer::Step Lexer::skip_rest(const std::string& word, bool may_move) {
    const bool axis_value = arguments(rest(position_)).axis_value;
    log_.unknown_word(word, may_move || axis_value, axis_value || axis_word_before());
    any_word_ = true;
    note_skipped_motion(position_);
    note_words_behind();
    return end_of_arguments();
}

// Behind a word that nobody knows, another one may be its argument or a word of its own: it is
// reported as well, so that declaring the first uncovers nothing.
void Lexer::note_words_behind() {
    const std::string_view behind = rest(position_).substr(0, rest(position_).find_first_of(";("));
    for (std::size_t i = 0; i + 1 < behind.size(); ++i) {
        const char letter = to_upper(behind[i]);
        const bool starts = i == 0 || is_blank(behind[i - 1]) || is_digit(behind[i - 1]);
        if ((letter != 'G' && letter != 'M') || !starts || !is_digit(behind[i + 1])) {
            continue;
        }
        double number = 0.0;
        std::size_t at = position_ + i + 1;
        if (!values_.value(at, number) || !is_code(number) || rule_for(letter, number) != nullptr) {
            continue;
        }
        const int tenths = code_tenths(number);
        const bool known =
            letter == 'G' ? g_group(tenths) != GGroup::unknown : m_group(tenths) != MGroup::unknown;
        if (!known) {
            log_.unknown_word(code_text(letter, tenths), letter == 'G',
                              arguments(behind).axis_value);
        }
    }
}

// The rest of the line belongs to a word, but a damaged line is an error all the same.
Lexer::Step Lexer::end_of_arguments() {
    const std::size_t last = text_.find_last_not_of(" \t");
    const std::size_t star = text_.rfind('*');
    if (!numbered_ || star == std::string_view::npos || star < position_ || star == last) {
        return Step::end_of_line;
    }
    const std::string_view digits = text_.substr(star + 1, last - star);
    if (!std::all_of(digits.begin(), digits.end(), is_digit)) {
        return Step::end_of_line;
    }
    position_ = star;
    return checksum();
}

Lexer::Step Lexer::free_text(std::size_t start) {
    position_ = start;
    log_.spot(SpotKind::text_after_word);
    note_skipped_motion(start);
    return end_of_arguments();
}

void Lexer::note_skipped_motion(std::size_t from) {
    const Arguments found = arguments(rest(from));
    if (found.motion_word && found.axis_value) {
        log_.spot(SpotKind::skipped_motion);
    }
}

}  // namespace planner
