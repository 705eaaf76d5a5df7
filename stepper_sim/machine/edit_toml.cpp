#include "stepper_sim/machine/edit_toml.hpp"

#include <algorithm>

namespace stepper_sim::machine::reading {
namespace {

bool continues_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
}

/// The byte where a node begins; columns count characters.
std::size_t offset_of(std::string_view text, const Node& node) {
    std::size_t at = line_start(text, node.line);
    for (std::uint64_t c = 1; c < node.column && at < text.size(); ++c) {
        ++at;
        while (at < text.size() && continues_character(text[at]))
            ++at;
    }
    return at;
}

std::size_t quoted_length(std::string_view text, std::size_t at) {
    if (at >= text.size() || (text[at] != '"' && text[at] != '\'')) return 0;
    const char quote = text[at];
    const std::string triple(3, quote);
    const std::string end = text.substr(at, 3) == triple ? triple : std::string(1, quote);
    for (std::size_t i = at + end.size(); i < text.size(); ++i) {
        if (quote == '"' && text[i] == '\\')
            ++i;
        else if (text.substr(i, end.size()) == end)
            return i + end.size() - at;
    }
    return 0;
}

}  // namespace

const Node* find_path(const Node& root, std::string_view path) {
    const Node* node = &root;
    while (!path.empty() && node != nullptr) {
        const std::size_t end = std::min(path.find('.'), path.size());
        node = node->kind == Node::Kind::table ? find_field(*node, path.substr(0, end)) : nullptr;
        path.remove_prefix(std::min(end + 1, path.size()));
    }
    return node;
}

std::size_t line_start(std::string_view text, std::uint64_t line) {
    std::size_t at = 0;
    for (std::uint64_t l = 1; l < line && at < text.size(); ++l)
        at = std::min(text.find('\n', at), text.size() - 1) + 1;
    return at;
}

TextEdit value_span(std::string_view text, const Node& value) {
    const std::size_t at = offset_of(text, value);
    if (value.kind == Node::Kind::real || value.kind == Node::Kind::whole)
        return {at, std::min(text.find_first_of(" \t,}#\r\n", at), text.size()) - at, {}};
    return {at, quoted_length(text, at), {}};
}

std::string edited(std::string_view text, std::vector<TextEdit> edits) {
    std::stable_sort(edits.begin(), edits.end(),
                     [](const TextEdit& a, const TextEdit& b) { return a.at > b.at; });
    std::string out(text);
    for (const TextEdit& edit : edits)
        out.replace(edit.at, edit.length, edit.with);
    return out;
}

}  // namespace stepper_sim::machine::reading
