/// "Did you mean": the known word nearest to a mistyped one.
/// Model:   optimal string alignment: insertions, deletions, substitutions and swaps of neighbours, one edit each
/// Formula: d(i, j) = min(d(i-1, j) + 1, d(i, j-1) + 1, d(i-1, j-1) + [a_i != b_j], d(i-2, j-2) + 1 where two neighbours are swapped)
/// Symbols: d(i, j) = edits between the first i bytes of a and the first j of b
/// Valid:   counts stop above the limit asked for; no piece is edited twice
/// Source:  F. J. Damerau, Communications of the ACM 7 (1964) 171; V. I. Levenshtein, Soviet Physics Doklady 10 (1966) 707; from memory
/// Checked by: EditDistance.CountsEachKindOfEditOnce, EditDistance.StopsCaringAboveTheLimit, Nearest.FindsAMistypedWordAndNotADifferentOne
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace stepper_sim::machine::reading {

/// Edits between two words, bytes counted; stops caring above `limit` and then returns limit + 1.
std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit);

/// The first of the nearest candidates at most a third of its length away (at least one edit), or
/// "".
std::string nearest(std::string_view word, std::span<const std::string> candidates);

/// A hint: "did you mean 'x'", or, when nothing is near, "known here: a, b, c".
std::string suggest(std::string_view word, std::span<const std::string> candidates);

}  // namespace stepper_sim::machine::reading
