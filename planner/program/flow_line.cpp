#include "planner/program/flow_line.hpp"

#include <algorithm>
#include <array>

#include "planner/program/ascii.hpp"

namespace planner {
namespace {

struct Row {
    std::string_view text;
    FlowWord word;
};
constexpr std::array<Row, 15> kWords = {{{"sub", FlowWord::sub},
                                         {"endsub", FlowWord::endsub},
                                         {"call", FlowWord::call},
                                         {"return", FlowWord::give_back},
                                         {"if", FlowWord::when},
                                         {"elseif", FlowWord::or_when},
                                         {"else", FlowWord::otherwise},
                                         {"endif", FlowWord::endif},
                                         {"while", FlowWord::loop},
                                         {"endwhile", FlowWord::endloop},
                                         {"repeat", FlowWord::repeat},
                                         {"endrepeat", FlowWord::endrepeat},
                                         {"do", FlowWord::begin},
                                         {"break", FlowWord::leave},
                                         {"continue", FlowWord::next}}};

struct Scan {
    std::string_view text;
    std::size_t at = 0;

    char here() const { return at < text.size() ? text[at] : '\0'; }
    void blanks() { at = behind_blanks(text, at); }
    void blanks_and_comments() {
        for (blanks(); here() == '('; blanks()) {
            const std::size_t close = text.find(')', at);
            if (close == std::string_view::npos) return;
            at = close + 1;
        }
    }
    bool done() const { return at >= text.size() || text[at] == ';' || text[at] == '('; }
};

bool same_word(std::string_view a, std::string_view low) {
    return a.size() == low.size() &&
           std::equal(a.begin(), a.end(), low.begin(),
                      [](char x, char y) { return to_upper(x) == to_upper(y); });
}

// Digits, or a name in angle brackets; false for anything else.
bool read_name(Scan& scan, std::string& name) {
    scan.blanks();
    if (scan.here() == '<') {
        const std::size_t close = scan.text.find('>', scan.at);
        if (close == std::string_view::npos) return false;
        for (; scan.at <= close; ++scan.at)
            if (!is_blank(scan.here())) name += to_upper(scan.here());
        return name.size() > 2;
    }
    bool any = false;
    for (; is_digit(scan.here()) || (any && is_blank(scan.here())); ++scan.at) {
        any = true;
        if (is_digit(scan.here())) name += scan.here();
    }
    name.erase(0, std::min(name.find_first_not_of('0'), name.size() - 1));
    return any;
}

}  // namespace

std::string_view flow_word_text(FlowWord word) {
    if (word == FlowWord::finish) return "while";
    const auto* const row = std::find_if(kWords.begin(), kWords.end(),
                                         [&](const Row& known) { return known.word == word; });
    return row == kWords.end() ? std::string_view() : row->text;
}

std::size_t code_after(std::string_view line, std::size_t position) {
    Scan scan{line, position};
    scan.blanks_and_comments();
    return scan.done() ? std::string_view::npos : scan.at;
}

FlowLine read_flow_line(std::string_view text, bool block_delete) {
    Scan scan{text};
    FlowLine line;
    scan.blanks_and_comments();
    if (scan.here() == '/') {
        if (block_delete) return line;
        ++scan.at;
        scan.blanks_and_comments();
    }
    if (to_upper(scan.here()) == 'N') {
        ++scan.at;
        while (is_digit(scan.here()) || is_blank(scan.here()))
            ++scan.at;
        scan.blanks_and_comments();
    }
    line.at = scan.at;
    const bool colon = scan.here() == ':';  // ISO 6983-1: a program number
    if (to_upper(scan.here()) != 'O' && !colon) return line;
    ++scan.at;
    scan.blanks();
    const char first = scan.here();
    if (!is_digit(first) && first != '<' && first != '[' && first != '#') return line;
    const bool named = read_name(scan, line.name);
    scan.blanks_and_comments();
    line.rest = scan.at;
    if (!named) {
        line.word = FlowWord::unknown;
    } else if (colon || (scan.done() && line.name[0] != '<')) {
        line.word = colon && line.name[0] == '<' ? FlowWord::unknown : FlowWord::number;
    } else {
        while (is_letter(scan.here()))
            ++scan.at;
        const std::string_view word = text.substr(line.rest, scan.at - line.rest);
        const auto* const row = std::find_if(kWords.begin(), kWords.end(), [&](const Row& known) {
            return same_word(word, known.text);
        });
        // A program number may have words behind it: "O1000 G21".
        const bool words_follow = word.size() == 1 && line.name[0] != '<';
        line.word = row != kWords.end() ? row->word
                    : words_follow      ? FlowWord::number
                                        : FlowWord::unknown;
        line.rest = row != kWords.end() ? scan.at : line.rest;
    }
    return line;
}

}  // namespace planner
