// The library asserts, and in release builds assumes, that a value does not begin with ']' or ',':
// broken input does. Without both it goes on to its ordinary "could not determine value type". It
// takes NDEBUG as leave to assume.
#undef NDEBUG
#define TOML_ASSERT(expr) static_assert(true)
#define TOML_EXCEPTIONS 0
#define TOML_HEADER_ONLY 1
#define TOML_MAX_NESTED_VALUES 32
#include "stepper_sim/machine/toml_node.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <optional>

#include "planner/units/units_text.hpp"
#include "stepper_sim/machine/toml_guard.hpp"

namespace stepper_sim::machine::reading {
namespace {

using FileName = std::shared_ptr<const std::string>;

Node convert(const toml::node& source, const FileName& file);

Node scalar(const toml::node& source) {
    Node node;
    if (const auto* text = source.as_string()) {
        node.kind = Node::Kind::text;
        node.text = text->get();
    } else if (const auto* whole = source.as_integer()) {
        node.kind = Node::Kind::whole;
        node.whole = whole->get();
    } else if (const auto* real = source.as_floating_point()) {
        node.kind = Node::Kind::real;
        node.real = real->get();
    } else if (const auto* truth = source.as_boolean()) {
        node.kind = Node::Kind::boolean;
        node.truth = truth->get();
    } else {
        node.kind = Node::Kind::date;
    }
    return node;
}

Node container(const toml::node& source, const FileName& file) {
    Node node;
    if (const toml::array* array = source.as_array()) {
        node.kind = Node::Kind::array;
        node.items.reserve(array->size());
        for (const toml::node& item : *array) {
            node.items.push_back(convert(item, file));
        }
        return node;
    }
    const toml::table& table = *source.as_table();
    node.fields.reserve(table.size());
    for (const auto& [key, value] : table) {
        const toml::source_position at = key.source().begin;
        node.fields.push_back(
            {std::string(key.str()), {*file, at.line, at.column}, convert(value, file)});
    }
    return node;
}

Node convert(const toml::node& source, const FileName& file) {
    Node node = source.is_table() || source.is_array() ? container(source, file) : scalar(source);
    node.file = file;
    node.line = source.source().begin.line;
    node.column = source.source().begin.column;
    return node;
}

planner::Place place_of(std::string_view text, std::size_t offset, const std::string& file) {
    const std::string_view before = text.substr(0, offset);
    const std::size_t line_start = before.rfind('\n') + 1;  // 0 where there is none
    const auto lines = std::count(before.begin(), before.end(), '\n');
    return {file, static_cast<std::uint64_t>(lines) + 1, offset - line_start + 1};
}

std::string line_of(std::string_view text, std::uint64_t line) {
    for (std::uint64_t i = 1; i < line; ++i) {
        const std::size_t end = text.find('\n');
        if (end == std::string_view::npos) {
            return {};
        }
        text.remove_prefix(end + 1);
    }
    text = text.substr(0, text.find('\n'));
    const std::size_t first = text.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) {
        return {};
    }
    return planner::printable(text.substr(first, text.find_last_not_of(" \t\r") - first + 1));
}

std::string plain(std::string_view description) {
    constexpr std::string_view kPreamble = "Error while parsing ";
    if (description.starts_with(kPreamble)) {
        description.remove_prefix(kPreamble.size());
    }
    return std::string(description);
}

std::string real_text(double value) {
    constexpr int kDigits = 15;
    const std::string text = planner::format_number(value, kDigits);
    return text.find_first_not_of("-0123456789") == std::string::npos ? text + ".0" : text;
}

/// The library's test for letters outside ASCII is undefined for many of them where it does not take
/// them as part of a text or comment, and only it knows where that is. So it first reads a copy with
/// one character for each that is as wrong there: broken input ends here, at the same line and column.
std::string without_letters_outside_ascii(std::string_view text) {
    constexpr std::string_view kMark = "\xEF\xBB\xBF";
    std::string ascii;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto byte = static_cast<unsigned char>(text[i]);
        const bool of_mark = i < kMark.size() && text.starts_with(kMark);
        if (byte < 0x80U || of_mark)
            ascii += text[i];
        else if (byte >= 0xC0U)  // the first byte of a letter
            ascii += '?';
    }
    return ascii;
}

}  // namespace

const Node* find_field(const Node& table, std::string_view name) {
    for (const Field& field : table.fields) {
        if (field.name == name) {
            return &field.value;
        }
    }
    return nullptr;
}

std::string shown(const Node& node) {
    switch (node.kind) {
        case Node::Kind::boolean:
            return node.truth ? "true" : "false";
        case Node::Kind::whole:
            return std::to_string(node.whole);
        case Node::Kind::real:
            return real_text(node.real);
        case Node::Kind::text:
            return planner::printable(node.text);
        case Node::Kind::array:
            return "a list";
        case Node::Kind::table:
            return "a table";
        case Node::Kind::date:
            break;
    }
    return "a date";
}

planner::Result<Node> parse_toml(std::string_view text, const std::string& file) {
    if (const std::optional<UnsafeToml> unsafe = find_unsafe(text)) {
        const planner::Place place = place_of(text, unsafe->offset, file);
        return planner::Diagnostic{"machine/not-toml", place, line_of(text, place.line),
                                   unsafe->expected, ""};
    }
    const std::string ascii = without_letters_outside_ascii(text);
    toml::parse_result parsed = toml::parse(std::string_view(ascii));
    if (parsed && ascii != text) parsed = toml::parse(text);
    if (!parsed) {
        const toml::parse_error& error = parsed.error();
        const toml::source_position at = error.source().begin;
        return planner::Diagnostic{"machine/not-toml",
                                   {file, at.line, at.column},
                                   line_of(text, at.line),
                                   "TOML",
                                   plain(error.description())};
    }
    return convert(parsed.table(), std::make_shared<const std::string>(file));
}

}  // namespace stepper_sim::machine::reading
