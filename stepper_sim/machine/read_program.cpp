#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>

#include "planner/program/expression.hpp"
#include "stepper_sim/machine/machine_tables.hpp"

namespace stepper_sim::reading {
namespace {

constexpr double kMaxPosition_m = 1000.0;
constexpr double kMaxArcTolerance_m = 0.01;
constexpr int kMostTools = 99999;  // five digits, as the largest word number

char upper(char c) {
    return static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
}
bool is_digit(char c) {
    return c >= '0' && c <= '9';
}
bool is_letter(char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

/// One length per axis letter of the machine; axes that are not named are at zero.
void read_positions(const Node& table, const std::string& path, const Machine& machine,
                    planner::AxisArray& positions_m, Faults& faults) {
    FieldReader reader(table, path, faults);
    for (std::size_t slot = 0; slot < machine.axes.size(); ++slot) {
        const std::string key(1, static_cast<char>(std::tolower(machine.axes[slot].letter)));
        positions_m[slot] =
            reader.value_or<planner::Length>(key, {}, from_to(-kMaxPosition_m, kMaxPosition_m))
                .value();
    }
    reader.finish();
}

void read_work_offset(FieldReader& reader, Machine& machine) {
    const Node* node = reader.find("work_offset");
    if (node == nullptr) {
        return;
    }
    if (node->kind == Node::Kind::text && node->text == "unknown") {
        machine.work_offset_known = false;
    } else if (node->kind == Node::Kind::table) {
        read_positions(*node, reader.full_name("work_offset"), machine,
                       machine.program.work_offset_m, reader.faults());
    } else {
        reader.faults().add({"machine/wrong-type", node->place(), shown(*node),
                             "a table of lengths or \"unknown\" for program.work_offset", ""});
    }
}

void read_ignored_axes(FieldReader& reader, Machine& machine) {
    const Node* list = reader.list("ignore_axes");
    if (list == nullptr) {
        return;
    }
    for (const Node& item : list->items) {
        const bool one_letter = item.kind == Node::Kind::text && item.text.size() == 1 &&
                                planner::is_axis_letter(upper(item.text[0]));
        if (!one_letter) {
            reader.faults().add({"machine/unknown-choice", item.place(), shown(item),
                                 "axis letters (x y z a b c u v w e) for program.ignore_axes", ""});
        } else if (machine.program.axes.slot(upper(item.text[0])) >= 0) {
            reader.faults().add(
                {"machine/conflict", item.place(), shown(item),
                 "letters that are not axes of this machine for program.ignore_axes", ""});
        } else {
            machine.program.ignored_axes += upper(item.text[0]);
        }
    }
}

/// The whole of a key that is a number from 1 to `most`.
std::optional<int> whole_number(const std::string& key, int most) {
    int number = 0;
    const char* end = key.data() + key.size();
    const auto [stop, error] = std::from_chars(key.data(), end, number);
    const bool good = error == std::errc() && stop == end && number >= 1 && number <= most;
    return good ? std::optional<int>(number) : std::nullopt;
}

/// Values of the program's numbered parameters: { 100 = 2.5 } is #100.
void read_parameters(const Node& table, Machine& machine, Faults& faults) {
    for (const Field& field : table.fields) {
        const std::optional<int> number = whole_number(field.name, planner::kParameters);
        if (!number) {
            faults.add({"machine/unknown-key", field.place, planner::printable(field.name),
                        "a parameter number from 1 to " + std::to_string(planner::kParameters),
                        ""});
            continue;
        }
        const auto value =
            value_of<double>(field.value, {}, "program.parameters." + field.name, faults);
        if (value) {
            machine.program.parameters[*number] = *value;
        }
    }
}

/// Lengths of tools, by the number that G43 H names: { 1 = "50 mm" }.
void read_tool_lengths(const Node& table, Machine& machine, Faults& faults) {
    for (const Field& field : table.fields) {
        const std::optional<int> number = whole_number(field.name, kMostTools);
        if (!number) {
            faults.add({"machine/unknown-key", field.place, planner::printable(field.name),
                        "a tool number from 1 to 99999", ""});
            continue;
        }
        const auto length =
            value_of<planner::Length>(field.value, from_to(-kMaxPosition_m, kMaxPosition_m),
                                      "program.tool_lengths." + field.name, faults);
        if (length) {
            machine.program.tool_lengths_m[*number] = length->value();
        }
    }
}

struct WordText {
    std::string word;       // "M7301", "G7029.1"
    std::string_view rest;  // what follows it
};

/// Upper-case letter and number without needless zeros, as the program reader looks words up.
std::optional<WordText> read_word(std::string_view text) {
    constexpr std::size_t kMaxDigits = 6;
    if (text.empty() || (upper(text[0]) != 'G' && upper(text[0]) != 'M')) {
        return std::nullopt;
    }
    std::size_t end = 1;
    while (end < text.size() && is_digit(text[end])) {
        ++end;
    }
    if (end == 1 || end - 1 > kMaxDigits) {
        return std::nullopt;
    }
    const std::size_t first = std::min(text.find_first_not_of('0', 1), end - 1);
    WordText result{upper(text[0]) + std::string(text.substr(first, end - first)), {}};
    if (end + 1 < text.size() && text[end] == '.' && is_digit(text[end + 1])) {
        const std::size_t point = end++;
        while (end < text.size() && is_digit(text[end])) {
            ++end;
        }
        std::size_t last = end;
        while (text[last - 1] == '0') {
            --last;
        }
        if (end - point > kMaxDigits) {
            return std::nullopt;
        }
        if (last > point + 1) {
            result.word += text.substr(point, last - point);
        }
    }
    result.rest = text.substr(end);
    return result;
}

/// The letters in "M7301 S" or "M7409 P L"; empty where something else stands there.
std::string value_letters(std::string_view rest) {
    std::string letters;
    while (rest.size() >= 2 && rest[0] == ' ') {
        rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size() - 1));
        if (!is_letter(rest[0])) return {};
        letters += upper(rest[0]);
        rest.remove_prefix(1);
    }
    return rest.empty() ? letters : std::string();
}

/// How many letters an effect takes, at least and at most.
struct Letters {
    std::size_t least, most;
    const char* expected;
};

Letters letters_of(planner::WordEffect effect) {
    if (effect == planner::WordEffect::set_acceleration)
        return {1, 1, "a G or M word and the letter of its value, such as \"M7306 S\", for "};
    if (effect == planner::WordEffect::call)
        return {
            1, 2,
            "a G or M word, the letter of the program's number and that of the repeats, such as "
            "\"M7306 P L\", for "};
    return {0, 0, "a G or M word such as \"M7306\" for "};
}

void add_word(const Node& item, planner::WordEffect effect, const std::string& path,
              Machine& machine, Faults& faults) {
    const Letters wanted = letters_of(effect);
    const auto word = item.kind == Node::Kind::text ? read_word(item.text) : std::nullopt;
    const std::string letters = word ? value_letters(word->rest) : std::string();
    const bool all_read = word && (letters.empty() == word->rest.empty());
    if (!all_read || letters.size() < wanted.least || letters.size() > wanted.most) {
        faults.add({"machine/bad-word", item.place(), shown(item), wanted.expected + path, ""});
        return;
    }
    const planner::WordRule rule{effect, letters.empty() ? '\0' : letters[0],
                                 letters.size() < 2 ? '\0' : letters[1]};
    if (!machine.program.words.emplace(word->word, rule).second) {
        faults.add(
            {"machine/conflict", item.place(), shown(item), "each word once in program.words", ""});
    }
}

void read_words(const Node& table, Machine& machine, Faults& faults) {
    struct Row {
        const char* key;
        planner::WordEffect effect;
    };
    constexpr auto kRows =
        std::to_array<Row>({{"ignore", planner::WordEffect::ignore},
                            {"text", planner::WordEffect::text},
                            {"wait", planner::WordEffect::wait},
                            {"set_acceleration", planner::WordEffect::set_acceleration},
                            {"relative_e", planner::WordEffect::relative_e},
                            {"absolute_e", planner::WordEffect::absolute_e},
                            {"call", planner::WordEffect::call},
                            {"return", planner::WordEffect::give_back}});
    FieldReader reader(table, "program.words", faults);
    for (const Row& row : kRows) {
        const Node* node = reader.find(row.key);
        if (node == nullptr) {
            continue;
        }
        const std::string path = reader.full_name(row.key);
        if (node->kind == Node::Kind::array) {
            for (const Node& item : node->items) {
                add_word(item, row.effect, path, machine, faults);
            }
        } else {
            add_word(*node, row.effect, path, machine, faults);
        }
    }
    reader.finish();
}

}  // namespace

void read_program(const Node& table, Machine& machine, Faults& faults) {
    FieldReader reader(table, "program", faults);
    planner::ProgramSettings& program = machine.program;
    const auto rapids = std::to_array<std::string>({"traverse", "feed"});
    const auto units = std::to_array<std::string>({"mm", "inch"});
    const auto dwells = std::to_array<std::string>({"s", "ms"});
    program.rapid_is_feed = reader.choice("rapid", rapids) == 1U;
    program.default_inches = reader.choice("units", units) == 1U;
    program.dwell_unit_s = reader.choice("dwell_unit", dwells) == 1U ? 1e-3 : 1.0;
    const auto paths = std::to_array<std::string>({"refuse", "as written"});
    program.compensation_as_written = reader.choice("cutter_compensation", paths) == 1U;
    if (const Node* tools = reader.table("tool_lengths")) {
        read_tool_lengths(*tools, machine, faults);
    }
    const auto tolerance =
        reader.maybe<planner::Length>("arc_radius_tolerance", above_zero_to(kMaxArcTolerance_m));
    if (tolerance) {
        program.arc_radius_tolerance_m = tolerance->value();
    }
    program.block_delete = reader.value_or<bool>("block_delete", program.block_delete);
    program.home_all_axes = reader.value_or<bool>("home_all_axes", program.home_all_axes);
    read_ignored_axes(reader, machine);
    if (const Node* parameters = reader.table("parameters")) {
        read_parameters(*parameters, machine, faults);
    }
    if (const Node* start = reader.table("start")) {
        read_positions(*start, "program.start", machine, program.start_m, faults);
    }
    if (const Node* home = reader.table("home")) {
        read_positions(*home, "program.home", machine, program.home_m, faults);
    }
    read_work_offset(reader, machine);
    if (const Node* words = reader.table("words")) {
        read_words(*words, machine, faults);
    }
    reader.finish();
}

}  // namespace stepper_sim::reading
