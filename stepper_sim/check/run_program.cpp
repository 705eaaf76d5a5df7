#include "stepper_sim/check/run_program.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <system_error>

#include "stepper_sim/check/stages.hpp"

namespace stepper_sim {

namespace {

// Large enough that a block's commands amortise each stage's call, small enough for the second-level cache.
constexpr std::size_t kBlockBytes = std::size_t{1} << 16;

using File = std::unique_ptr<std::FILE, int (*)(std::FILE*)>;

planner::Diagnostic unreadable(const std::string& name, std::string why) {
    return {"program/unreadable",
            {name, 0, 0},
            std::move(why),
            "a readable program file",
            "check the path and its permissions"};
}

planner::Diagnostic nothing(const std::string& name, std::string id, std::string found) {
    return {std::move(id),
            {name, 0, 0},
            std::move(found),
            "a program with moves",
            "give the program that the machine will run"};
}

}  // namespace

planner::Result<ProgramResult> run_program(const Machine& machine, const MotorModels& models,
                                           const std::filesystem::path& file,
                                           const ProgressCall& progress) {
    const std::string name = file.string();
    std::error_code error;
    // A directory opens but does not read, and a pipe nobody writes to would wait for ever.
    const auto status = std::filesystem::status(file, error);
    if (error || !std::filesystem::exists(status)) return unreadable(name, "no such file");
    if (!std::filesystem::is_regular_file(status))
        return unreadable(
            name, std::filesystem::is_directory(status) ? "a directory" : "not a regular file");
    const File handle(std::fopen(name.c_str(), "rb"), std::fclose);
    if (!handle) return unreadable(name, std::strerror(errno));
    const auto size =
        static_cast<double>(std::max<std::uintmax_t>(std::filesystem::file_size(file, error), 1));

    auto stages = std::make_unique<Stages>(machine, models, name);
    std::string block(kBlockBytes, '\0');
    double read_bytes = 0.0;
    while (const std::size_t got = std::fread(block.data(), 1, block.size(), handle.get())) {
        stages->read(std::string_view(block).substr(0, got));
        read_bytes += static_cast<double>(got);
        if (progress) progress(std::min(read_bytes / size, 1.0));
        if (!stages->reader.errors().empty()) {
            // Planning stops at the first error, but the rest is still read: the user gets all of them at once.
            stages->commands.clear();
        }
    }
    if (std::ferror(handle.get()) != 0) return unreadable(name, std::strerror(errno));
    if (read_bytes == 0.0) return nothing(name, "program/empty", "an empty file");
    stages->finish();
    if (!stages->reader.errors().empty()) return stages->reader.errors();

    ProgramResult result;
    result.file = name;
    result.notes = stages->reader.notes();
    result.lines = result.notes.lines;
    stages->demand.finish(result);
    for (int m = 0; m < static_cast<int>(machine.axes.size()); ++m)
        result.motors[static_cast<std::size_t>(m)].timing = stages->pulses.motor(m);
    result.controller = stages->pulses.controller();
    if (result.moves == 0)
        return nothing(name, "program/nothing-moves", "no move in the whole program");
    return result;
}

}  // namespace stepper_sim
