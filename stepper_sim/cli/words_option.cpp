#include "stepper_sim/cli/words_option.hpp"

#include <vector>

#include "stepper_sim/cli/terminal.hpp"
#include "stepper_sim/machine/text_file.hpp"
#include "stepper_sim/report/words_block.hpp"

namespace stepper_sim::cli {

namespace {

bool has_words_table(const machine::Machine& machine) {
    if (!machine.program.words.empty()) return true;
    const auto text = machine::reading::read_text_file(machine.file);
    return text && text.value().find("[program.words]") != std::string::npos;
}

}  // namespace

Exit print_words(const Invocation& invocation, const machine::Machine& machine) {
    std::vector<run::ProgramWords> programs;
    bool good = true;
    for (const std::string& file : invocation.all("PROGRAM")) {
        auto words = run::read_program_words(machine, file);
        print_diagnostics(words ? words.value().errors : words.diagnostics());
        good = good && words && words.value().errors.empty();
        if (words) programs.push_back(std::move(words).value());
    }
    if (invocation.all("PROGRAM").empty()) {
        print_error("--words: found no program, expected the programs whose words are wanted");
        return Exit::unusable;
    }
    if (!print(report::words_block(machine, programs, has_words_table(machine))))
        return Exit::unusable;
    return good ? Exit::good : Exit::unusable;
}

}  // namespace stepper_sim::cli
