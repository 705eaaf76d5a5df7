/// Which line of a kept program runs next: loops, choices, subprograms and their calls. The reader
/// runs the lines between (program_reader.cpp) and hands calls of the machine file's words over.
/// Every program ends: what repeats more than the bounds below is an error. Not here: what belongs
/// together (flow_text.hpp). Errors: program/flow, program/subprogram, program/endless and those of
/// expressions; after one nothing more is run.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

#include "planner/program/flow_text.hpp"
#include "planner/program/lexer.hpp"
#include "planner/program/program_log.hpp"

namespace planner {

/// How long a program may go on repeating itself.
struct FlowBounds {
    /// Lines between two moves. Guess: surveyed programs compute under a thousand; this many are
    /// read in a second.
    std::uint64_t idle_lines = 1'000'000;
    /// Lines run beyond those of the file. Guess: three times those of the longest surveyed program.
    std::uint64_t repeated_lines = 10'000'000;
    /// Calls inside each other. Guess: ten times what the trade's controls allow (from memory); each
    /// keeps its own parameters.
    std::size_t calls = 100;
};

class FlowRunner {
  public:
    /// `text` is indexed and outlives the runner.
    FlowRunner(const FlowText& text, const FlowBounds& bounds, Lexer& lexer, ProgramLog& log);

    /// The lines that run next, up to a line with an O word; empty where that comes first.
    std::string_view lines() const;
    std::uint64_t line() const { return place_.line; }
    /// So much of lines() has run.
    void pass(std::size_t bytes, std::uint64_t lines);
    /// Obeys the line with an O word that comes next.
    void step();
    /// An axis has moved: the program gets on.
    void moved() { idle_ = 0; }

    /// The words of the machine file, met on the line that was passed last; -1: the word's letter
    /// was missing.
    void call(double number, double repeats);
    void give_back();

    /// Nothing is left to run.
    bool done() const { return stopped_ || (calls_.empty() && at_end()); }
    /// The text has ended, though calls have not returned.
    bool at_end() const { return place_.at == text_.text().size(); }
    bool in_call() const { return !calls_.empty(); }
    /// Call where the program's text ends: a subprogram must have returned before.
    void end_of_text();

  private:
    struct Place {
        std::size_t at = 0;  // in the text
        std::uint64_t line = 1;
        std::size_t next = 0;  // the O line at or behind it
    };
    struct Call {
        Place back;
        std::size_t begin = 0;    // its sub or program number
        double left = 0.0;        // further repeats
        std::size_t repeats = 0;  // of the loops around the call
        Parameters::Locals locals;
    };
    struct Repeat {
        std::size_t begin;
        double left;
    };

    const FlowStep& here() const { return text_.steps()[place_.next]; }
    bool numbered() const {
        return !calls_.empty() && text_.steps()[calls_.back().begin].word == FlowWord::number;
    }
    void behind(std::size_t step);
    void onto(std::size_t step);
    void run_from(std::size_t step);
    void count(std::uint64_t lines, const FlowStep* step);
    void fail(const FlowStep* step, std::string_view id, std::string_view expected,
              std::string_view hint = {});
    bool values(const FlowStep& step, std::size_t least, std::size_t most);
    bool condition(const FlowStep& step, bool& holds);
    void choose(std::size_t at);
    void loop(std::size_t at);
    void begin_repeats(std::size_t at);
    std::size_t repeats_outside() const { return calls_.empty() ? 0 : calls_.back().repeats; }
    void leave_loop(std::size_t at);
    void call_sub(std::size_t at);
    void enter(Call call);
    void leave_call();

    const FlowText& text_;
    FlowBounds bounds_;
    Lexer& lexer_;
    ProgramLog& log_;
    Place place_;
    std::vector<Call> calls_;
    std::vector<Repeat> repeats_;
    std::vector<double> values_;
    std::uint64_t idle_ = 0, run_ = 0;
    bool stopped_ = false;
};

}  // namespace planner
