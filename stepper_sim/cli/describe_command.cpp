#include <fmt/core.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>

#include "planner/units/diagnostic.hpp"
#include "stepper_sim/cli/command_table.hpp"
#include "stepper_sim/cli/describe_text.hpp"
#include "stepper_sim/cli/inputs.hpp"
#include "stepper_sim/cli/terminal.hpp"

namespace stepper_sim::cli {

namespace {

constexpr auto kOptions = std::to_array<OptionRow>({
    {"OUT", "FILE", "the machine file to write", true, false},
    {"--kind", "KIND", "bed-printer, crossed-printer, screw-router or belt-plotter", false, false},
    {"--travel", "LENGTH", "of each axis: \"220 mm; 220 mm; 250 mm\" or z=\"250 mm\"", false, true},
    {"--belt", "BELT", "type or pitch, teeth of the pulley, width: \"2mm, 20, 6 mm\"", false, true},
    {"--screw", "SCREW", "lead, then root diameter and length where known: \"8 mm, 6 mm, 300 mm\"",
     false, true},
    {"--mass", "MASS", "what moves with each axis: \"0.4 kg; 1.1 kg\"", false, true},
    {"--motor", "MOTOR", "part of the catalogue, or the label: \"17, 1.5 A rms, 0.4 N m\"", false,
     true},
    {"--driver", "DRIVER", "part of the catalogue", false, true},
    {"--current", "CURRENT",
     "what the drivers are set to: \"1.2 A peak\"; without rms or peak both are meant", false,
     true},
    {"--supply", "VOLTAGE", "what the drivers are fed with", false, true},
    {"--controller", "CONTROLLER", "part of the catalogue", false, false},
    {"--settings", "SETTINGS", "meant to be flashed: \"180 mm/s, 2500 mm/s^2, 9 mm/s\"", false,
     true},
    {"--microsteps", "N", "per full step", false, true},
    {"--friction", "FORCE", "that keeps an axis moving, where it was measured", false, true},
    {"--stiffness", "STIFFNESS", "between motor and load, where it was measured", false, true},
    {"--name", "TEXT", "of the machine", false, false},
    kCatalogueOption,
});

using Folders = std::vector<std::filesystem::path>;

std::string answers_file(const std::string& out) {
    return out + ".answers";
}

/// What was answered before the asking was broken off.
void add_kept(const std::string& file, Answers& answers) {
    std::ifstream in(file);
    for (std::string line; std::getline(in, line);) {
        const auto sign = line.find(" = ");
        if (sign == std::string::npos) continue;
        for (const Question& question : questions())
            if (line.substr(0, sign) == question.key)
                answers.emplace(question.key, line.substr(sign + 3));
    }
}

bool keep(const std::string& file, const Answers& answers) {
    std::string text;
    for (const auto& [key, answer] : answers)
        text += fmt::format("{} = {}\n", key, planner::printable(answer, 500));
    return write_file(file, text);
}

Answers given(const Invocation& invocation) {
    Answers answers;
    for (const Question& question : questions()) {
        const auto values = invocation.all("--" + std::string(question.key));
        std::string joined;
        for (const std::string& value : values)
            joined += (joined.empty() ? "" : "; ") + value;
        if (!values.empty()) answers.emplace(question.key, joined);
    }
    return answers;
}

void put_question(const Question& question, const KindRow* kind) {
    std::string of;
    if (question.axes != nullptr && kind != nullptr)
        for (const char letter : question.axes(*kind))
            of += fmt::format("{}{}", of.empty() ? " (" : ", ", letter);
    if (question.key == "kind")
        for (const KindRow& row : machine_kinds())
            fmt::print(stderr, "  {:<16}{}\n", row.name, row.says);
    fmt::print(stderr, "{}{}, such as {}: ", question.asks, of.empty() ? "" : of + ")",
               question.example);
    std::fflush(stderr);
}

/// Asks until each needed answer is usable; false: the input ended.
bool ask(const std::string& out, const Folders& catalogue, Answers& answers) {
    fmt::print(stderr,
               "One answer for all axes, or several in turn with ';' between. Ctrl-C keeps the\n"
               "answers in {}; the same command goes on from there.\n",
               planner::printable(answers_file(out), 200));
    for (const Question& question : questions()) {
        const KindRow* kind = kind_of(answers);
        if (!question.needed || answers.contains(question.key) ||
            (question.axes != nullptr && kind != nullptr && question.axes(*kind).empty()))
            continue;
        for (std::string wrong = "?"; !wrong.empty();) {
            put_question(question, kind);
            std::string line;
            if (!std::getline(std::cin, line)) return false;
            answers.insert_or_assign(std::string(question.key), line);
            wrong = wrong_with(question, answers, catalogue);
            if (wrong.empty()) break;
            answers.erase(answers.find(question.key));
            fmt::print(stderr, "  {}\n", wrong);
        }
        if (!keep(answers_file(out), answers)) return false;
    }
    return true;
}

Exit run(const Invocation& invocation) {
    const std::string out = invocation.text("OUT");
    std::error_code error;
    if (out != "-" && std::filesystem::exists(out, error)) {
        print_error(planner::printable(out, 200) +
                    ": is there already, expected a new file to write");
        return Exit::unusable;
    }
    const Folders catalogue = catalogue_folders(invocation);
    Answers answers = given(invocation);
    if (out != "-") add_kept(answers_file(out), answers);
    if (isatty(STDIN_FILENO) != 0 && out != "-" && !ask(out, catalogue, answers)) {
        fmt::print(stderr, "\n");
        print_error("the answers ended; those given are kept in " +
                    planner::printable(answers_file(out), 200));
        return Exit::unusable;
    }
    std::vector<std::string> wrong;
    const Described machine = described(answers, catalogue, wrong);
    for (const std::string& what : wrong)
        print_error(what);
    if (!wrong.empty()) return Exit::unusable;
    const auto text = machine_text(machine, catalogue);
    if (!text) {
        print_diagnostics(text.diagnostics());
        return Exit::unusable;
    }
    if (!write_file(out, text.value())) return Exit::unusable;
    if (out == "-") return Exit::good;
    std::filesystem::remove(answers_file(out), error);
    std::size_t assumed = 0;
    for (std::size_t at = text.value().find("assumed: "); at != std::string::npos;
         at = text.value().find("assumed: ", at + 1))
        ++assumed;
    return print(fmt::format("{} written; {} values are assumed, each marked with its band\n"
                             "next: stepper_sim check {} part.gcode\n",
                             planner::printable(out, 200), assumed, planner::printable(out, 200)))
               ? Exit::good
               : Exit::unusable;
}

}  // namespace

const CommandRow kDescribeCommand{
    "describe",
    "writes the machine file of a machine from what its owner knows; what is missing it asks, or "
    "assumes and marks",
    "stepper_sim describe mine.toml --kind bed-printer --travel \"220 mm; 220 mm; 250 mm\" --belt "
    "\"2mm, 20, 6 mm\" "
    "--mass \"0.4 kg; 1.1 kg\" --motor \"17, 1.5 A rms, 0.4 N m\" --driver tmc2209 --current \"1.2 "
    "A peak\" "
    "--supply \"24 V\" --controller avr-16mhz-line --settings \"180 mm/s, 2500 mm/s^2, 9 mm/s\"",
    kOptions, run};

}  // namespace stepper_sim::cli
