/// One line that begins with an O word: a program number ("O1000"), or a word that steers which
/// lines run next ("O<fill> while [#1 LT 5]"). Grammar, blanks and case free:
///   line = [N number] "O" (number | "<" name ">") [word {value}]
/// Comments may stand anywhere between. Not here: which lines belong together (flow_text.hpp), what
/// they do (flow_runner.hpp). Source: O words of RS274/NGC as the trade has extended it since NISTIR
/// 6556 (from memory).
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace planner {

enum class FlowWord : std::uint8_t {
    none,    // no O word at its beginning
    number,  // a program number; a mapped call word may name it
    sub,
    endsub,
    call,
    give_back,  // "return"
    when,       // "if"
    or_when,    // "elseif"
    otherwise,  // "else"
    endif,
    loop,     // "while"
    endloop,  // "endwhile"
    repeat,
    endrepeat,
    begin,   // "do"
    finish,  // the "while" that closes a "do"; told from the other by flow_text.hpp
    leave,   // "break"
    next,    // "continue"
    unknown  // anything else: an error
};

/// The word as programs write it.
std::string_view flow_word_text(FlowWord word);

struct FlowLine {
    FlowWord word = FlowWord::none;
    std::string name;      // "100" or "<fill>", in capitals, without blanks and leading zeros
    std::size_t at = 0;    // where the O stands
    std::size_t rest = 0;  // what follows the word
};

/// `text`: a line without its line break. Block delete lines are none.
FlowLine read_flow_line(std::string_view text, bool block_delete);

/// Where code goes on behind blanks and comments; npos at the end of the line.
std::size_t code_after(std::string_view line, std::size_t position);

}  // namespace planner
