#include <algorithm>
#include <array>
#include <cctype>
#include <optional>
#include <string>
#include <string_view>

#include "planner/program/line.hpp"
#include "stepper_sim/machine/machine_tables.hpp"

namespace stepper_sim::reading {
namespace {

struct Effect {
    std::string_view key;
    planner::WordEffect effect;
};
constexpr auto kEffects =
    std::to_array<Effect>({{"ignore", planner::WordEffect::ignore},
                           {"text", planner::WordEffect::text},
                           {"wait", planner::WordEffect::wait},
                           {"set_acceleration", planner::WordEffect::set_acceleration},
                           {"relative_e", planner::WordEffect::relative_e},
                           {"absolute_e", planner::WordEffect::absolute_e}});

char upper(char c) {
    return static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
}
bool is_digit(char c) {
    return c >= '0' && c <= '9';
}
bool is_letter(char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}
bool part_of_name(char c) {
    return is_letter(c) || is_digit(c) || c == '_' || c == '.';
}
std::string in_capitals(std::string_view text) {
    std::string out(text);
    std::transform(out.begin(), out.end(), out.begin(), upper);
    return out;
}

struct WordText {
    std::string word;       // "M7301", "G7029.1", "HURRY"
    std::string_view rest;  // what follows it
    bool is_name = false;
};

/// The name that a line begins with: letters, digits, _ and ., of which the second is no digit.
std::optional<WordText> read_name(std::string_view text) {
    if (text.size() < 2 || !is_letter(text[0]) || !(is_letter(text[1]) || text[1] == '_'))
        return std::nullopt;
    const auto* const end = std::find_if_not(text.begin(), text.end(), part_of_name);
    const auto length = static_cast<std::size_t>(end - text.begin());
    if (length > planner::kMaxNameLength) return std::nullopt;
    return WordText{in_capitals(text.substr(0, length)), text.substr(length), true};
}

/// Upper-case letter and number without needless zeros, as the program reader looks words up.
std::optional<WordText> read_word(std::string_view text) {
    constexpr std::size_t kMaxDigits = 6;
    if (text.size() < 2 || (upper(text[0]) != 'G' && upper(text[0]) != 'M') || !is_digit(text[1]))
        return read_name(text);
    std::size_t end = 1;
    while (end < text.size() && is_digit(text[end]))
        ++end;
    if (end - 1 > kMaxDigits) return std::nullopt;
    const std::size_t first = std::min(text.find_first_not_of('0', 1), end - 1);
    WordText result{upper(text[0]) + std::string(text.substr(first, end - first)), {}};
    if (end + 1 < text.size() && text[end] == '.' && is_digit(text[end + 1])) {
        const std::size_t point = end++;
        while (end < text.size() && is_digit(text[end]))
            ++end;
        std::size_t last = end;
        while (text[last - 1] == '0')
            --last;
        if (end - point > kMaxDigits) return std::nullopt;
        if (last > point + 1) result.word += text.substr(point, last - point);
    }
    result.rest = text.substr(end);
    return result;
}

/// The letter in "M7301 S" or the key in "HURRY BY"; empty: neither.
std::string value_key(std::string_view rest, bool is_name) {
    rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
    const bool plain = std::all_of(rest.begin(), rest.end(), part_of_name);
    const bool good = !rest.empty() && is_letter(rest[0]) && plain && (is_name || rest.size() == 1);
    return good ? in_capitals(rest) : std::string();
}

void keep(const WordText& word, const planner::WordRule& rule, const planner::Place& place,
          const std::string& found, Machine& machine, Faults& faults) {
    if (!machine.program.words.emplace(word.word, rule).second)
        faults.add({"machine/conflict", place, found, "each word once in program.words", ""});
}

/// An item of `ignore = ["M7301"]`.
void add_word(const Node& item, planner::WordEffect effect, const std::string& path,
              Machine& machine, Faults& faults) {
    const bool takes_value = effect == planner::WordEffect::set_acceleration;
    const auto word = item.kind == Node::Kind::text ? read_word(item.text) : std::nullopt;
    const std::string key = word ? value_key(word->rest, word->is_name) : std::string();
    if (word && (takes_value ? !key.empty() : word->rest.empty())) {
        keep(*word, {effect, key}, item.place(), shown(item), machine, faults);
        return;
    }
    faults.add({"machine/bad-word", item.place(), shown(item),
                takes_value ? "a G or M word and the letter of its value, such as \"M7306 S\", or "
                              "the name that a line begins with and the key of its value, for " +
                                  path
                            : "a G or M word such as \"M7306\", or the name that a line begins "
                              "with, for " +
                                  path,
                ""});
}

/// `M7301 = "ignore"`: the same the other way round.
void add_meaning(const Field& field, const WordText& word, Machine& machine, Faults& faults) {
    const std::string_view text =
        field.value.kind == Node::Kind::text ? field.value.text : std::string_view();
    const std::size_t space = std::min(text.find(' '), text.size());
    const auto* const row = std::find_if(kEffects.begin(), kEffects.end(), [&](const Effect& each) {
        return each.key == text.substr(0, space);
    });
    const bool takes_value =
        row != kEffects.end() && row->effect == planner::WordEffect::set_acceleration;
    const std::string key = value_key(text.substr(space), word.is_name);
    if (row != kEffects.end() && (takes_value ? !key.empty() : space == text.size())) {
        keep(word, {row->effect, key}, field.place, field.name, machine, faults);
        return;
    }
    faults.add({"machine/unknown-choice", field.value.place(), shown(field.value),
                "\"ignore\", \"text\", \"wait\", \"relative_e\", \"absolute_e\" or "
                "\"set_acceleration S\" (the letter or key of its value) for program.words." +
                    planner::printable(field.name),
                "what the word does on this machine; its controller's manual says"});
}

/// In capitals, as no key is.
std::optional<WordText> word_of_key(const std::string& name) {
    auto word = read_word(name);
    const bool key = word && word->is_name && in_capitals(name) != name;
    return word && word->rest.empty() && !key ? word : std::nullopt;
}

}  // namespace

void read_words(const Node& table, Machine& machine, Faults& faults) {
    FieldReader reader(table, "program.words", faults);
    for (const Effect& row : kEffects) {
        const Node* node = reader.find(row.key);
        if (node == nullptr) continue;
        const std::string path = reader.full_name(row.key);
        if (node->kind == Node::Kind::array)
            for (const Node& item : node->items)
                add_word(item, row.effect, path, machine, faults);
        else
            add_word(*node, row.effect, path, machine, faults);
    }
    for (const Field& field : table.fields)
        if (const auto word = word_of_key(field.name)) {
            reader.find(field.name);
            add_meaning(field, *word, machine, faults);
        }
    reader.finish();
}

}  // namespace stepper_sim::reading
