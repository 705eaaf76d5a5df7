#include "stepper_sim/limits/settings_text.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>

#include "stepper_sim/machine/setting.hpp"
#include "stepper_sim/machine/toml_node.hpp"

namespace stepper_sim {

namespace {

// Differences below are rounding of the unit's factor.
constexpr double kSame = 1e-9;

std::vector<Setting> changes(const Machine& wanted, const Machine& present) {
    std::vector<Setting> found;
    for (const Axis& axis : present.axes)
        for (const SettingKey key :
             {SettingKey::max_speed, SettingKey::max_acceleration, SettingKey::speed_step}) {
            const double from = present_value(present, axis.letter, key);
            const double to = present_value(wanted, axis.letter, key);
            if (std::abs(to - from) > kSame * std::abs(from))
                found.push_back({axis.letter, key, to});
        }
    return found;
}

std::string axis_key(char letter) {
    return {static_cast<char>(std::tolower(static_cast<unsigned char>(letter)))};
}

const reading::Node* value_node(const reading::Node& root, const Setting& setting) {
    const reading::Node* node = &root;
    for (const std::string& key : {std::string("axes"), axis_key(setting.axis),
                                   std::string("settings"), std::string(key_text(setting.key))}) {
        if (node->kind != reading::Node::Kind::table) return nullptr;
        node = reading::find_field(*node, key);
        if (node == nullptr) return nullptr;
    }
    return node;
}

bool continues_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
}

/// The byte at which a place of the file begins; columns count characters, not bytes.
std::size_t offset_of(std::string_view text, std::uint64_t line, std::uint64_t column) {
    std::size_t at = 0;
    for (std::uint64_t l = 1; l < line && at < text.size(); ++l)
        at = std::min(text.find('\n', at), text.size() - 1) + 1;
    for (std::uint64_t c = 1; c < column && at < text.size(); ++c) {
        ++at;
        while (at < text.size() && continues_character(text[at]))
            ++at;
    }
    return at;
}

/// Length of the quoted text that begins at `at`, quotes included; 0 where none does.
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

std::vector<std::string> setting_lines(const Machine& wanted, const Machine& present) {
    std::vector<std::string> lines;
    for (const Setting& setting : changes(wanted, present))
        lines.push_back(line_text(setting));
    return lines;
}

planner::Result<std::string> with_settings(std::string_view text, const std::string& file,
                                           const Machine& wanted, const Machine& present) {
    const auto root = reading::parse_toml(text, file);
    if (!root) return root.diagnostics();
    struct Edit {
        std::size_t at, length;
        std::string with;
    };
    std::vector<Edit> edits;
    for (const Setting& setting : changes(wanted, present)) {
        const reading::Node* node = value_node(root.value(), setting);
        const std::size_t at = node != nullptr ? offset_of(text, node->line, node->column) : 0;
        const std::size_t length = node != nullptr ? quoted_length(text, at) : 0;
        if (length == 0)
            return planner::Diagnostic{
                "machine/missing-key", node != nullptr ? node->place() : planner::Place{file, 0, 0},
                "no value to replace", path_text(setting.axis, setting.key) + " as a text",
                "write the settings into the machine file itself"};
        edits.push_back({at, length, '"' + value_text(setting) + '"'});
    }
    std::sort(edits.begin(), edits.end(), [](const Edit& a, const Edit& b) { return a.at > b.at; });
    std::string out(text);
    for (const Edit& edit : edits)
        out.replace(edit.at, edit.length, edit.with);
    return out;
}

}  // namespace stepper_sim
