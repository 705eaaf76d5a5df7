/// One line of program text to words. Any case, blanks anywhere between words, comments in () and
/// after ;, line numbers, checksums ("N3 ... *28": exclusive or of the bytes before the '*'), block
/// delete, expressions, "#n=value". What it cannot read is an error at its column; what it can read
/// but no careful person writes is a spot (program_notes.hpp). A word beyond the standard takes the
/// rest of its line with it: its arguments are nobody's motion. Beside a motion word it takes no
/// axis words, feed or arc words, which are the motion's. Not here: what the words do
/// (interpreter.hpp), splitting text into lines (program_reader.hpp).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "planner/program/expression.hpp"
#include "planner/program/line.hpp"
#include "planner/program/program_log.hpp"
#include "planner/program/program_settings.hpp"

namespace planner {

enum class LineKind : std::uint8_t {
    nothing,  // blank, a comment, skipped or wrong (then an error is in the log)
    words,
    percent,  // begins with '%'
    not_text  // holds a control byte: nothing after it can be trusted
};

class Lexer {
  public:
    Lexer(const ProgramSettings& settings, ProgramLog& log);

    /// Reads `text`, one line without its line break. `out` is overwritten; parameters set on the
    /// line count from the next one. Errors: program/control-byte, unclosed-comment, no-number,
    /// number-too-large, exponent, unexpected-character, repeated-word, checksum, expression,
    /// division-by-zero, parameter, not-simulated.
    LineKind read(std::string_view text, Line& out);

    /// The value at `position` of a line with an O word, and `position` behind it; else an error.
    bool flow_value(std::string_view line, std::size_t& position, double& value);
    Parameters& parameters() { return parameters_; }

  private:
    enum class Step : std::uint8_t { next, end_of_line, failed };

    Step step();
    Step comment();
    Step assignment();
    Step checksum();
    Step loose_number();

    // lexer_words.cpp
    Step word();
    Step bare_letter(char letter, std::size_t start);
    Step value_word(char letter, std::size_t start);
    Step zero_code(char letter, std::size_t start);
    Step code_word(char letter, std::size_t start, double number);
    Step known_code(char letter, const CodeWord& code);
    Step unknown_code(const std::string& word, char letter);
    Step mapped_word(char letter, const WordRule& rule);
    bool mapped_value(std::string_view key, double& value, bool& found);
    bool beside_motion() const;
    bool own_argument(char letter) const;
    Step beside(char letter);
    Step program_number(std::size_t start);
    Step named_line(std::size_t start);
    Step skip_rest(const std::string& word, bool may_move);
    Step end_of_arguments();
    Step free_text(std::size_t start);
    bool glued_e_is_a_word(char before);

    Step fail(std::string_view id, std::size_t position, std::string_view expected,
              std::string_view hint = {});
    Step value_failed();

    const WordRule* rule_for(char letter, double number) const;
    bool starts_name() const;
    bool axis_word_before() const;
    bool bare_follows() const;
    bool checksum_holds(std::size_t star, std::size_t digits) const;
    void note_skipped_motion(std::size_t from);
    void note_words_behind();
    std::string_view rest(std::size_t from) const {
        return text_.substr(from < text_.size() ? from : text_.size());
    }
    char at(std::size_t position) const { return position < text_.size() ? text_[position] : '\0'; }
    void skip_blanks();

    const ProgramSettings& settings_;
    ProgramLog& log_;
    Parameters parameters_;
    std::uint32_t mapped_letters_ = 0;

    // the line being read
    std::string_view text_;
    std::size_t position_ = 0;
    Line* line_ = nullptr;
    ExpressionReader values_;
    std::vector<std::pair<int, double>> assignments_;
    bool numbered_ = false;
    bool any_word_ = false;
    bool after_m_word_ = false;   // the word before was an M word: free text may follow
    bool own_arguments_ = false;  // an unknown word before takes what is no motion's
};

}  // namespace planner
