/// "Did you mean": the known word nearest to a mistyped one.
/// Formula: optimal string alignment distance: insertions, deletions, substitutions and swaps of
/// neighbours, one each. Source:  F. J. Damerau, Communications of the ACM 7 (1964) 171; V. I.
/// Levenshtein, Soviet Physics Doklady 10 (1966) 707; from memory
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace stepper_sim::reading {

/// Edits between two words, bytes counted; stops caring above `limit` and then returns limit + 1.
std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit);

/// The first of the nearest candidates at most a third of its length away (at least one edit), or
/// "".
std::string nearest(std::string_view word, std::span<const std::string> candidates);

/// A hint: "did you mean 'x'", or, when nothing is near, "known here: a, b, c".
std::string suggest(std::string_view word, std::span<const std::string> candidates);

}  // namespace stepper_sim::reading
