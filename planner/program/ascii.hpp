/// Character classes and line ends of program text, independent of any locale.
#pragma once

#include <algorithm>
#include <string_view>

namespace planner {

constexpr bool is_blank(char c) {
    return c == ' ' || c == '\t';
}
/// Behind the blanks at `at`; a no-break space (UTF-8) is one to whoever wrote it.
constexpr std::size_t behind_blanks(std::string_view text, std::size_t at) {
    constexpr std::string_view kNoBreakSpace = "\xC2\xA0";
    while (at < text.size()) {
        if (is_blank(text[at])) {
            ++at;
        } else if (text.substr(at).starts_with(kNoBreakSpace)) {
            at += kNoBreakSpace.size();
        } else {
            break;
        }
    }
    return at;
}
constexpr bool is_digit(char c) {
    return c >= '0' && c <= '9';
}
constexpr bool is_letter(char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}
constexpr char to_upper(char c) {
    return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}
/// Control bytes other than the tab make a text no program.
constexpr bool is_control(char c) {
    return (static_cast<unsigned char>(c) < 0x20 && c != '\t') || c == 0x7F;
}

/// `line` without the carriage return before its line break and the byte that closes the texts of
/// some old systems.
constexpr std::string_view without_line_end(std::string_view line) {
    constexpr char kEndOfText = '\x1A';
    while (!line.empty() && (line.back() == '\r' || line.back() == kEndOfText)) {
        line.remove_suffix(1);
    }
    return line;
}

/// Blank lines, comments and a closing '%' may follow the end of a program.
constexpr bool harmless_after_end(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t");
    return first == std::string_view::npos || text[first] == '%' || text[first] == '(' ||
           text[first] == ';';
}

}  // namespace planner
