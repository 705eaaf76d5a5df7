#include "stepper_sim/report/words_block.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <string_view>
#include <vector>

namespace stepper_sim::report {

namespace {

constexpr std::string_view kMeanings =
    "# Put in place of each ? what the word does on this machine; its manual says. One of\n"
    "#   ignore               no motion; what follows the word on its line is skipped\n"
    "#   text                 the same, and that is text\n"
    "#   wait                 motion comes to rest before it\n"
    "#   set_acceleration S   path acceleration, to the value behind this letter or key\n"
    "#   relative_e           E words are distances from here on\n"
    "#   absolute_e           E words are positions from here on\n"
    "#   call P L             runs program O<P> of the same file, L times\n"
    "#   return               ends it\n";

/// One word in all programs; of "G10 L1", which the standard does not know, the table's key is G10.
struct Row {
    std::string key;
    planner::UnknownWord word;
    std::string file;
};

/// As no word does: "program O7 behind the end".
bool starts_low(std::string_view word) {
    return !word.empty() && word.front() >= 'a' && word.front() <= 'z';
}

std::vector<Row> rows_of(std::span<const run::ProgramWords> programs) {
    std::vector<Row> rows;
    for (const run::ProgramWords& program : programs)
        for (const planner::UnknownWord& word : program.notes.unknown_words) {
            const std::string key =
                starts_low(word.word) ? word.word : word.word.substr(0, word.word.find(' '));
            const auto same = std::find_if(rows.begin(), rows.end(),
                                           [&](const Row& row) { return row.key == key; });
            if (same == rows.end()) {
                rows.push_back({key, word, program.file});
            } else {
                same->word.count += word.count;
                same->word.beside_axes += word.beside_axes;
            }
        }
    return rows;
}

std::string times(std::uint64_t count) {
    return count == 1 ? "once" : fmt::format("{} times", count);
}

std::string comment_on(const Row& row, bool many_files) {
    const planner::UnknownWord& word = row.word;
    std::string out = row.key == word.word ? std::string() : word.word + ": ";
    out += fmt::format("{}, {} line {}", times(word.count), word.count == 1 ? "at" : "first at",
                       word.first_line);
    if (many_files)
        out += " of " + planner::printable(std::filesystem::path(row.file).filename().string());
    const std::uint64_t alone = word.count - word.beside_axes;
    if (word.beside_axes == 0) return out + "; no axis words beside it";
    return out + (alone == 0 ? "; axis words beside it"
                             : fmt::format("; axis words beside it {}", times(word.beside_axes)));
}

/// A lone letter cannot be declared, nor a program.
bool declarable(std::string_view word) {
    return word.size() > 1 && !starts_low(word);
}

std::string line_of(const Row& row, bool many_files) {
    const std::string& word = row.key;
    const bool bare = word.find('.') == std::string::npos;
    if (!declarable(word))
        return fmt::format("# {}: {}; no line of this table can say what it does\n", word,
                           comment_on(row, many_files));
    const std::string key = bare ? word : '"' + word + '"';
    return fmt::format("{:<24} # {}\n", key + " = \"?\"", comment_on(row, many_files));
}

/// Axis words that the machine has no axis for: an error, whose remedies are the user's choice as well.
std::string missing_axes(std::span<const run::ProgramWords> programs) {
    std::string listed;
    for (const run::ProgramWords& program : programs)
        for (const planner::Diagnostic& error : program.errors) {
            if (error.id != "program/missing-axis") continue;
            const char letter =
                static_cast<char>(std::tolower(static_cast<unsigned char>(error.found.front())));
            const std::string quoted = fmt::format("\"{}\"", letter);
            if (listed.find(quoted) == std::string::npos)
                listed += (listed.empty() ? "" : ", ") + quoted;
        }
    if (listed.empty()) return {};
    return fmt::format(
        "# The machine lacks these axes: describe them in [axes], or skip their words with this "
        "line in [program]:\n# ignore_axes = [{}]\n",
        listed);
}

}  // namespace

std::string words_block(const machine::Machine& machine,
                        std::span<const run::ProgramWords> programs, bool has_table) {
    const std::string axes = missing_axes(programs);
    const std::vector<Row> rows = rows_of(programs);
    if (rows.empty())
        return axes + "# No word that neither the open standard nor the machine file knows.\n";
    std::string out(kMeanings);
    out += has_table ? "# These lines belong under [program.words], which " +
                           planner::printable(machine.file) + " has.\n"
                     : "[program.words]\n";
    for (const Row& row : rows)
        out += line_of(row, programs.size() > 1);
    return axes + out;
}

}  // namespace stepper_sim::report
