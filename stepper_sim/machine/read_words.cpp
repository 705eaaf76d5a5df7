#include <algorithm>
#include <array>
#include <cctype>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "planner/program/line.hpp"
#include "stepper_sim/machine/machine_tables.hpp"

namespace stepper_sim::machine::reading {
namespace {

/// A word's keys are what its values stand behind: a letter, or on a named line a name.
struct Effect {
    std::string_view key;
    planner::WordEffect effect;
    std::size_t least_keys = 0, most_keys = 0;
};
constexpr auto kEffects =
    std::to_array<Effect>({{"ignore", planner::WordEffect::ignore},
                           {"text", planner::WordEffect::text},
                           {"wait", planner::WordEffect::wait},
                           {"set_acceleration", planner::WordEffect::set_acceleration, 1, 1},
                           {"relative_e", planner::WordEffect::relative_e},
                           {"absolute_e", planner::WordEffect::absolute_e},
                           {"call", planner::WordEffect::call, 1, 2},
                           {"return", planner::WordEffect::give_back}});

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

/// What stands behind the word in "M7301 S", "M7409 P L" or "HURRY BY", as a rule; nothing where
/// that is not what the effect takes.
std::optional<planner::WordRule> read_rule(const Effect& effect, std::string_view rest,
                                           bool is_name) {
    std::vector<std::string> keys;
    while (!rest.empty()) {
        rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
        const std::string_view key = rest.substr(0, rest.find(' '));
        const bool plain = std::all_of(key.begin(), key.end(), part_of_name);
        if (key.empty() || !is_letter(key[0]) || !plain || (!is_name && key.size() > 1))
            return std::nullopt;
        keys.push_back(in_capitals(key));
        rest.remove_prefix(key.size());
    }
    if (keys.size() < effect.least_keys || keys.size() > effect.most_keys) return std::nullopt;
    keys.resize(2);
    return planner::WordRule{effect.effect, keys[0], keys[1]};
}

std::string expected_of(planner::WordEffect effect) {
    if (effect == planner::WordEffect::set_acceleration)
        return "a G or M word and the letter of its value, such as \"M7306 S\", or the name that a "
               "line begins with and the key of its value, for ";
    if (effect == planner::WordEffect::call)
        return "a G or M word, the letter of the program's number and that of the repeats, such as "
               "\"M7306 P L\", for ";
    return "a G or M word such as \"M7306\", or the name that a line begins with, for ";
}

void keep(const WordText& word, const planner::WordRule& rule, const planner::Place& place,
          const std::string& found, Machine& machine, Faults& faults) {
    if (!machine.program.words.emplace(word.word, rule).second)
        faults.add({"machine/conflict", place, found, "each word once in program.words", ""});
}

/// An item of `ignore = ["M7301"]`.
void add_word(const Node& item, const Effect& effect, const std::string& path, Machine& machine,
              Faults& faults) {
    const auto word = item.kind == Node::Kind::text ? read_word(item.text) : std::nullopt;
    const auto rule = word ? read_rule(effect, word->rest, word->is_name) : std::nullopt;
    if (rule)
        keep(*word, *rule, item.place(), shown(item), machine, faults);
    else
        faults.add(
            {"machine/bad-word", item.place(), shown(item), expected_of(effect.effect) + path, ""});
}

/// `M7301 = "ignore"`: the same the other way round.
void add_meaning(const Field& field, const WordText& word, Machine& machine, Faults& faults) {
    const std::string_view text =
        field.value.kind == Node::Kind::text ? field.value.text : std::string_view();
    const std::size_t space = std::min(text.find(' '), text.size());
    const auto* const row = std::find_if(kEffects.begin(), kEffects.end(), [&](const Effect& each) {
        return each.key == text.substr(0, space);
    });
    const auto rule =
        row != kEffects.end() ? read_rule(*row, text.substr(space), word.is_name) : std::nullopt;
    if (rule) {
        keep(word, *rule, field.place, field.name, machine, faults);
        return;
    }
    faults.add({"machine/unknown-choice", field.value.place(), shown(field.value),
                "\"ignore\", \"text\", \"wait\", \"relative_e\", \"absolute_e\", \"return\", "
                "\"call P L\" or \"set_acceleration S\" (the letters or keys of its values) for "
                "program.words." +
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
                add_word(item, row, path, machine, faults);
        else
            add_word(*node, row, path, machine, faults);
    }
    for (const Field& field : table.fields)
        if (const auto word = word_of_key(field.name)) {
            reader.find(field.name);
            add_meaning(field, *word, machine, faults);
        }
    reader.finish();
}

}  // namespace stepper_sim::machine::reading
