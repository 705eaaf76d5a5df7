/// Text pieces for a terminal: wrapped paragraphs and tables that fit a width.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace stepper_sim::report {

inline constexpr std::size_t kTextWidth = 80;

/// `text` wrapped at `width` with every line after the first indented by `indent` spaces; ends with a line break.
/// `used` columns of the first line are already taken.
std::string wrapped(std::string_view text, std::size_t indent, std::size_t used,
                    std::size_t width = kTextWidth);

/// Rows of equal length as aligned columns, two spaces between; first column left-aligned, the others right-aligned.
std::string table(const std::vector<std::vector<std::string>>& rows);

/// Columns a text takes on a terminal: UTF-8 characters, not bytes.
std::size_t columns(std::string_view text);

}  // namespace stepper_sim::report
