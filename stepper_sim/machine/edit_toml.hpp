/// Changes single values in the text of a TOML file and leaves all else as it is: comments, order, spacing. toml_node.hpp says where a
/// value stands.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "stepper_sim/machine/toml_node.hpp"

namespace stepper_sim::machine::reading {

/// So many bytes from `at` on become `with`.
struct TextEdit {
    std::size_t at = 0, length = 0;
    std::string with;
};

/// The node at "axes.y.settings.max_speed", or null.
const Node* find_path(const Node& root, std::string_view path);

/// The byte at which a line begins, counted from 1.
std::size_t line_start(std::string_view text, std::uint64_t line);

/// The bytes of a number or a text, quotes included, a text over several lines too; of length 0 for any other value.
TextEdit value_span(std::string_view text, const Node& value);

/// Edits that do not overlap, in any order; of two at one place the later is written first.
std::string edited(std::string_view text, std::vector<TextEdit> edits);

}  // namespace stepper_sim::machine::reading
