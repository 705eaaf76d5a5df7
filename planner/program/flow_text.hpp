/// The text of a program from its first O word (or mapped call) on, kept because its lines may run
/// more than once, and which of its lines belong together: a loop's two ends, the branches of a
/// choice, a subprogram. A program without such lines is never kept. Not here: running it
/// (flow_runner.hpp). Read next: flow_line.hpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "planner/program/flow_line.hpp"
#include "planner/program/program_log.hpp"

namespace planner {

/// Guess: a hundred times the longest surveyed program with O words; what is kept stays in memory.
inline constexpr std::size_t kMostKept = std::size_t{64} << 20U;

/// One line with an O word. Others of the same construct are named by their index.
struct FlowStep {
    FlowWord word{};
    std::string name;
    std::size_t begin = 0, end = 0;  // of its line in text(); end: behind the line break
    std::size_t rest = 0;            // of the line: what follows the word
    std::size_t column = 0;          // of the O, from 1
    std::uint64_t line = 0;
    std::size_t match = 0;   // a loop's end, break or continue: its begin; return, endsub: the sub
    std::size_t branch = 0;  // "if", "elseif": the next branch; loops and sub: their end
    std::size_t end_of_choice = 0;  // "if", "elseif", "else": the "endif"
};

class FlowText {
  public:
    /// The next piece of the program, any length; the first begins with line `first_line`. False:
    /// over kMostKept.
    void start(std::uint64_t first_line) { first_line_ = first_line; }
    bool keep(std::string_view piece);

    /// Call once when all is kept. Error: program/flow, the first one, into `log`; then false.
    bool index(bool block_delete, ProgramLog& log);

    std::string_view text() const { return text_; }
    std::uint64_t first_line() const { return first_line_; }
    std::uint64_t lines() const { return lines_; }
    const std::vector<FlowStep>& steps() const { return steps_; }
    std::string_view line_of(const FlowStep& step) const;
    /// Index in steps() of "O<name> sub" or of the program number; npos where there is none.
    std::size_t sub(const std::string& name) const { return find(subs_, name); }
    std::size_t number(const std::string& name) const { return find(numbers_, name); }
    static constexpr std::size_t npos = static_cast<std::size_t>(-1);

  private:
    using Places = std::map<std::string, std::size_t>;

    struct Open {
        std::size_t step;         // where the construct began
        std::size_t last_branch;  // "if": its latest branch
    };
    static std::size_t find(const Places& places, const std::string& name) {
        const auto place = places.find(name);
        return place == places.end() ? npos : place->second;
    }
    void collect(bool block_delete);
    void join(std::size_t at, std::vector<Open>& open, ProgramLog& log);
    void close(std::size_t at, std::vector<Open>& open, ProgramLog& log);
    void branch(std::size_t at, std::vector<Open>& open, ProgramLog& log);
    void inside(std::size_t at, const std::vector<Open>& open, ProgramLog& log);
    void fail(std::size_t at, std::string_view expected, ProgramLog& log);

    std::string text_;
    std::uint64_t first_line_ = 1, lines_ = 0;
    std::vector<FlowStep> steps_;
    Places subs_, numbers_;
    bool good_ = true;
};

}  // namespace planner
