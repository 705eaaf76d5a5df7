/// The words of one program line, before any meaning is given to them: lexer.hpp fills it,
/// interpreter.hpp obeys it.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "planner/program/program_settings.hpp"

namespace planner {

/// A line longer than this is an error, whatever it holds; beyond kMaxCodeLine only a comment may
/// follow.
inline constexpr std::size_t kMaxLine = std::size_t{1} << 20U;
inline constexpr std::size_t kMaxCodeLine = std::size_t{1} << 13U;

/// Of the name that a line may begin with; the rest of a longer one is not looked at.
inline constexpr std::size_t kMaxNameLength = 32;

constexpr std::uint32_t letter_bit(char letter) {
    return std::uint32_t{1} << (static_cast<unsigned>(letter - 'A') & 31U);
}

/// A G or M word: its number times ten and the column it stands at, from 1.
struct CodeWord {
    int tenths = 0;
    std::size_t column = 0;
};

/// A word of the machine file; value is that of its value letter, repeats of its repeat letter.
struct MappedWord {
    WordEffect effect{};
    double value = 0.0;
    double repeats = 1.0;
};

struct Line {
    std::uint32_t present = 0;  // letters with a value, other than G, M and N; see letter_bit()
    std::uint32_t bare = 0;     // letters without one, as in "G28 X"
    std::array<double, 26> values{};
    std::array<std::size_t, 26> columns{};
    std::vector<CodeWord> g;
    std::vector<CodeWord> m;
    std::vector<MappedWord> mapped;

    bool has(char letter) const { return (present & letter_bit(letter)) != 0; }
    double value(char letter) const { return values[static_cast<std::size_t>(letter - 'A')]; }
    std::size_t column(char letter) const {
        return columns[static_cast<std::size_t>(letter - 'A')];
    }
    void clear() {
        present = bare = 0;
        g.clear();
        m.clear();
        mapped.clear();
    }
};

}  // namespace planner
