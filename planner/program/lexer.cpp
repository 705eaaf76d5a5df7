#include "planner/program/lexer.hpp"

#include <algorithm>

#include "planner/program/ascii.hpp"

namespace planner {
namespace {

bool punctuation_only(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) {
        return !is_letter(c) && !is_digit(c) && static_cast<unsigned char>(c) < 0x80;
    });
}

// NISTIR 6556, table 1 (from memory): home positions and the offsets of G92 and G54 to G59.3.
constexpr int kFirstOffset = 5161, kLastOffset = 5390;

}  // namespace

Lexer::Lexer(const ProgramSettings& settings, ProgramLog& log)
    : settings_(settings), log_(log), values_(parameters_) {
    for (const auto& [word, rule] : settings.words) {
        if (word.size() > 1 && is_letter(word[0]) && is_digit(word[1])) {
            mapped_letters_ |= letter_bit(to_upper(word[0]));
        }
    }
    for (const auto& [index, value] : settings.parameters) {
        if (index >= 1 && index <= kParameters) {
            parameters_.set(index, value);
        }
    }
}

LineKind Lexer::read(std::string_view text, Line& out) {
    out.clear();
    assignments_.clear();
    text_ = text;
    line_ = &out;
    position_ = 0;
    numbered_ = any_word_ = after_m_word_ = own_arguments_ = false;
    values_.start_line(text);

    const auto* const control = std::find_if(text.begin(), text.end(), is_control);
    if (control != text.end()) {
        log_.error("program/control-byte", static_cast<std::size_t>(control - text.begin()) + 1,
                   "a control byte", "program text", "the file is not plain text, or damaged");
        return LineKind::not_text;
    }
    skip_blanks();
    if (at(position_) == '%') {
        return LineKind::percent;
    }
    if (at(position_) == '/' && settings_.block_delete) {
        log_.spot(SpotKind::block_deleted);
        return LineKind::nothing;
    }
    position_ += at(position_) == '/' ? 1U : 0U;
    skip_blanks();
    const char first = at(position_);
    if (first != '(' && first != ';' && punctuation_only(rest(position_)) &&
        position_ < text.size()) {
        log_.spot(SpotKind::punctuation_only);
        return LineKind::nothing;
    }

    Step result = Step::next;
    while (result == Step::next) {
        skip_blanks();
        result = position_ < text_.size() ? step() : Step::end_of_line;
    }
    if (result == Step::failed) {
        return LineKind::nothing;
    }
    for (const auto& [index, value] : assignments_) {
        parameters_.set(index, value);
    }
    if (values_.read_unset_parameter()) {
        log_.spot(SpotKind::unset_parameter);
    }
    return any_word_ ? LineKind::words : LineKind::nothing;
}

Lexer::Step Lexer::step() {
    const char c = at(position_);
    switch (c) {
        case '(':
            return comment();
        case ';':
            return Step::end_of_line;
        case '#':
            return assignment();
        case '*':
            return checksum();
        case ':':
            return any_word_ ? fail("program/unexpected-character", position_,
                                    "a word such as X10, or a comment")
                             : program_number(position_);  // ISO 6983-1
        case '@':
        case '^':
            return fail("program/not-simulated", position_, "positions in X and Y",
                        "polar positions are not simulated");
        case ')':
            log_.spot(SpotKind::unbalanced_parenthesis);
            ++position_;
            return Step::next;
        default:
            break;
    }
    if (is_letter(c)) {
        return word();
    }
    if (after_m_word_) {
        return free_text(position_);
    }
    if (is_digit(c) || c == '.' || c == '-' || c == '+') {
        return loose_number();
    }
    return fail("program/unexpected-character", position_, "a word such as X10, or a comment");
}

// A comment ends at the ')' that balances its '('; where none does, at the first ')'.
Lexer::Step Lexer::comment() {
    const std::size_t first_close = text_.find(')', position_);
    if (first_close == std::string_view::npos) {
        return fail("program/unclosed-comment", position_, "a ')' on the same line",
                    "close the comment or write it after a ';'");
    }
    std::size_t close = first_close;
    int depth = 0;
    for (std::size_t i = position_; i < text_.size(); ++i) {
        depth += text_[i] == '(' ? 1 : text_[i] == ')' ? -1 : 0;
        if (depth == 0) {
            close = i;
            break;
        }
    }
    if (text_.substr(position_ + 1, first_close - position_).find('(') != std::string_view::npos) {
        log_.spot(SpotKind::nested_comment);
    }
    position_ = close + 1;
    return Step::next;
}

Lexer::Step Lexer::assignment() {
    const std::size_t start = position_++;
    int index = 0;
    double value = 0.0;
    if (!values_.parameter_index(position_, index)) {
        return value_failed();
    }
    skip_blanks();
    if (at(position_) != '=') {
        return fail("program/parameter", start, "an assignment such as #1=5");
    }
    if (index >= kFirstOffset && index <= kLastOffset) {
        return fail("program/parameter", start, "G10, G28 or G92 to change positions and offsets",
                    "#5161 to #5390 hold them");
    }
    ++position_;
    bool bare = false;
    if (!values_.value(position_, value) || !values_.bare_arithmetic(position_, value, bare)) {
        return value_failed();
    }
    if (bare) {
        log_.spot(SpotKind::bare_arithmetic);
    }
    any_word_ = true;
    after_m_word_ = false;
    assignments_.emplace_back(index, value);
    return Step::next;
}

bool Lexer::checksum_holds(std::size_t star, std::size_t digits) const {
    constexpr std::size_t kMostDigits = 3;
    unsigned wanted = 0;
    std::size_t end = digits;
    while (end < text_.size() && is_digit(text_[end])) {
        wanted = wanted * 10 + static_cast<unsigned>(text_[end++] - '0');
        if (end - digits > kMostDigits) {
            return false;
        }
    }
    unsigned all = 0;
    unsigned leading = 0;  // blanks before the line are not always part of what was summed
    for (std::size_t i = 0; i < star; ++i) {
        all ^= static_cast<unsigned char>(text_[i]);
        leading ^= is_blank(text_[i]) && text_.find_first_not_of(" \t") > i
                       ? static_cast<unsigned char>(text_[i])
                       : 0U;
    }
    return end > digits && (wanted == all || wanted == (all ^ leading));
}

Lexer::Step Lexer::checksum() {
    const std::size_t star = position_++;
    skip_blanks();
    const std::size_t digits = position_;
    while (is_digit(at(position_))) {
        ++position_;
    }
    skip_blanks();
    const char after = at(position_);
    if (position_ < text_.size() && after != ';' && after != '(') {
        return fail("program/unexpected-character", star,
                    "a checksum such as *28 at the end of the line");
    }
    if (!checksum_holds(star, digits)) {
        return fail("program/checksum", star, "the exclusive or of all bytes before the '*'",
                    "the line is damaged: send or export the program again");
    }
    return Step::end_of_line;
}

Lexer::Step Lexer::loose_number() {
    const std::size_t start = position_;
    double number = 0.0;
    if (!values_.value(position_, number)) {
        return value_failed();
    }
    if (any_word_) {
        return fail("program/unexpected-character", start, "a letter before this number",
                    "RS274/NGC would join it to the number before: write one or the other");
    }
    log_.spot(SpotKind::number_without_letter);
    return Step::next;
}

bool Lexer::flow_value(std::string_view line, std::size_t& position, double& value) {
    text_ = line;
    values_.start_line(line);
    if (!values_.value(position, value)) {
        value_failed();
        return false;
    }
    if (values_.read_unset_parameter()) {
        log_.spot(SpotKind::unset_parameter);
    }
    return true;
}

void Lexer::skip_blanks() {
    position_ = behind_blanks(text_, position_);
}

Lexer::Step Lexer::fail(std::string_view id, std::size_t position, std::string_view expected,
                        std::string_view hint) {
    constexpr std::size_t kShown = 24;
    const std::string_view found = rest(position);
    log_.error(id, position + 1, found.empty() ? "the end of the line" : found.substr(0, kShown),
               expected, hint);
    return Step::failed;
}

Lexer::Step Lexer::value_failed() {
    const ExpressionFailure& failure = values_.failure();
    return fail(failure.id, failure.position, failure.expected);
}

}  // namespace planner
