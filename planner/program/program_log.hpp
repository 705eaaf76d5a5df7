/// Collects errors and notes while a program is read. Internal to planner/program; ProgramReader
/// hands out its contents.
#pragma once

#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "planner/program/program_notes.hpp"
#include "planner/units/diagnostic.hpp"

namespace planner {

class ProgramLog {
  public:
    explicit ProgramLog(std::string file) : file_(std::move(file)) {}

    /// The line being read; its text is the sample of the spots found in it.
    void start_line(std::uint64_t line, std::string_view text) {
        line_ = line;
        text_ = text;
    }
    std::uint64_t line() const { return line_; }
    std::string_view text() const { return text_; }

    /// `column` counts from 1; `found` is raw input. Keeps kMaxErrors, and kMaxErrorsPerId of one
    /// id.
    void error(std::string_view id, std::size_t column, std::string_view found,
               std::string_view expected, std::string_view hint = {});
    void spot(SpotKind kind);
    /// One of another line than this.
    void spot(Spot spot);
    /// `beside_axes`: axis words stand on the line too.
    void unknown_word(const std::string& word, bool may_move, bool beside_axes = false);
    /// Names the last unknown word that may have moved an axis, for errors that may come of it.
    const std::string& skipped() const { return skipped_; }

    const std::vector<Diagnostic>& errors() const { return errors_; }
    ProgramNotes& notes() { return notes_; }
    const ProgramNotes& notes() const { return notes_; }

  private:
    std::string file_;
    std::uint64_t line_ = 0;
    std::string_view text_;
    std::string skipped_;
    std::vector<Diagnostic> errors_;
    ProgramNotes notes_;
    std::unordered_map<std::string, std::size_t> word_places_;
};

inline constexpr std::size_t kMaxErrors = 20;
inline constexpr std::size_t kMaxErrorsPerId = 5;

}  // namespace planner
