/// A look at TOML text before the library gets it: finds what toml++ 3.3 answers with undefined
/// behaviour or endless recursion. Not a TOML reader: it knows only quotes, comments and dots, and
/// leaves every other mistake to the library.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace stepper_sim::machine::reading {

struct UnsafeToml {
    std::size_t offset = 0;  // of the byte where it was noticed
    std::string expected;
};

/// A control character other than tab and line breaks, which TOML forbids and after which the library
/// may take quotes otherwise than this scan does; else the first of:
/// - a dotted key of more than 32 parts: the library limits the depth of values, not of keys;
/// - a byte outside ASCII that is neither quoted nor in a comment, or that follows a line-ending
/// backslash: not TOML, and the
///   library's test for blanks has an "unreachable" case for many of them (such as the micro sign).
std::optional<UnsafeToml> find_unsafe(std::string_view text);

}  // namespace stepper_sim::machine::reading
