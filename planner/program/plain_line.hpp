/// The short way for plain lines, the bulk of every program: G0 or G1, words of the machine's axes
/// and F, each at most once, blanks and a comment after ';'. Does what lexer.hpp and interpreter.hpp
/// would do with such a line, and leaves every other line to them before anything has changed: all
/// that is an error, a note or no straight move. Nothing is allocated. Read next: number.hpp.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "planner/program/command.hpp"
#include "planner/program/modal_state.hpp"
#include "planner/program/program_notes.hpp"
#include "planner/program/program_settings.hpp"

namespace planner {

class PlainLineReader {
  public:
    explicit PlainLineReader(const ProgramSettings& settings);

    /// Reads plain lines from `begin` up to the first other one and returns where that begins, or
    /// `end`. `end`: just after a line break.
    const char* read(const char* begin, const char* end, ModalState& state, ProgramNotes& notes,
                     std::vector<Command>& out) const;

  private:
    struct Words;

    const char* scan(const char* begin, const char* end, Words& words) const;
    bool obey(const Words& words, ModalState& state, ProgramNotes& notes,
              std::vector<Command>& out) const;

    std::array<std::uint8_t, 256> meaning_{};  // of a byte; axis letters are their slot
    int e_slot_;                               // -1: no such axis
    bool rapid_is_feed_;
};

}  // namespace planner
