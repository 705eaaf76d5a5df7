#include "stepper_sim/run/program_text.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <system_error>
#include <utility>

#include "planner/program/program_reader.hpp"

namespace stepper_sim::run {

namespace {

constexpr std::size_t kBlockBytes = std::size_t{1} << 16U;
// Guess: about as many as a block of text gives.
constexpr std::size_t kCommandsAtOnce = 1024;

}  // namespace

planner::Diagnostic unreadable_program(const std::string& name, std::string why) {
    return {"program/unreadable",
            {name, 0, 0},
            std::move(why),
            "a readable program file",
            "check the path and its permissions"};
}

planner::Result<ProgramText> open_program(const std::string& name) {
    std::error_code error;
    // A directory opens but does not read, and a pipe nobody writes to would wait for ever.
    const auto status = std::filesystem::status(name, error);
    if (error || !std::filesystem::exists(status)) return unreadable_program(name, "no such file");
    if (!std::filesystem::is_regular_file(status))
        return unreadable_program(
            name, std::filesystem::is_directory(status) ? "a directory" : "not a regular file");
    ProgramText text{{std::fopen(name.c_str(), "rb"), std::fclose}};
    if (!text.file) return unreadable_program(name, std::strerror(errno));
    text.size_bytes =
        static_cast<double>(std::max<std::uintmax_t>(std::filesystem::file_size(name, error), 1));
    return text;
}

planner::Result<ProgramWords> read_program_words(const machine::Machine& machine,
                                                 const std::string& name) {
    const auto text = open_program(name);
    if (!text) return text.diagnostics();
    planner::ProgramReader reader(machine.program, name);
    std::string block(kBlockBytes, '\0');
    std::vector<planner::Command> commands;
    std::FILE* const file = text.value().file.get();
    while (const std::size_t got = std::fread(block.data(), 1, block.size(), file)) {
        reader.read(std::string_view(block).substr(0, got), commands);
        commands.clear();
    }
    if (std::ferror(file) != 0) return unreadable_program(name, std::strerror(errno));
    while (!reader.finish(commands, kCommandsAtOnce))
        commands.clear();
    return ProgramWords{name, reader.notes(), reader.errors()};
}

}  // namespace stepper_sim::run
