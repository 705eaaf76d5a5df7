/// Which axis letters a machine has, and the slot each one takes in every per-axis array of the
/// planner.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace planner {

inline constexpr int kMaxAxes = 10;
/// X Y Z A B C U V W (RS274/NGC) and E, the filament axis of additive machines. Characters, not a view of text: compilers give each
/// source file a text of its own, and a loop from the begin of one to the end of another runs past it (clang's sanitizer build did).
inline constexpr std::array<char, kMaxAxes> kAxisLetters{'X', 'Y', 'Z', 'A', 'B',
                                                         'C', 'U', 'V', 'W', 'E'};

constexpr bool is_axis_letter(char letter) {
    return std::find(kAxisLetters.begin(), kAxisLetters.end(), letter) != kAxisLetters.end();
}

/// An axis letter as keys of files and of JSON have it.
inline std::string axis_key(char letter) {
    return {static_cast<char>(letter | 0x20)};
}

/// One number per axis, in the order of an AxisSet; entries past its count are zero.
using AxisArray = std::array<double, kMaxAxes>;

/// The axes of one machine, in the order of kAxisLetters.
class AxisSet {
  public:
    /// `letters`: upper-case axis letters in any order; others are ignored.
    explicit AxisSet(std::string_view letters = "XYZ");

    int count() const { return static_cast<int>(letters_.size()); }
    char letter(int slot) const { return letters_[static_cast<std::size_t>(slot)]; }
    const std::string& letters() const { return letters_; }
    /// The slot of an upper-case letter, or -1 where the machine has no such axis.
    int slot(char letter) const {
        return letter >= 'A' && letter <= 'Z' ? slots_[static_cast<std::size_t>(letter - 'A')] : -1;
    }

  private:
    std::string letters_;
    std::array<std::int8_t, 26> slots_{};
};

}  // namespace planner
