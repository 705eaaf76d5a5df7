#include "stepper_sim/check/plan_file.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <system_error>

#include "stepper_sim/check/stages.hpp"

namespace stepper_sim {

namespace {

// Large enough that a block's commands amortise each stage's call, small enough for the
// second-level cache.
constexpr std::size_t kBlockBytes = std::size_t{1} << 16U;

constexpr std::size_t kMovesAtOnce = 256;

using File = std::unique_ptr<std::FILE, int (*)(std::FILE*)>;

planner::Diagnostic unreadable(const std::string& name, std::string why) {
    return {"program/unreadable",
            {name, 0, 0},
            std::move(why),
            "a readable program file",
            "check the path and its permissions"};
}

PlannedFile plan_moves(const Machine& machine, const ProgramSource& program,
                       const MotorMoveSink& sink) {
    const auto stages = std::make_unique<Stages>(machine, program.name());
    std::span<const planner::Move> left(*program.moves());
    while (!left.empty()) {
        const auto block = left.first(std::min(left.size(), kMovesAtOnce));
        left = left.subspan(block.size());
        if (!sink(stages->take(block, left.empty()))) break;
    }
    PlannedFile planned;
    planned.notes.units_stated = true;
    return planned;
}

}  // namespace

planner::Result<PlannedFile> plan_file(const Machine& machine, const ProgramSource& program,
                                       const MotorMoveSink& sink, const ProgressCall& progress) {
    if (program.moves() != nullptr) return plan_moves(machine, program, sink);
    const std::filesystem::path& file = program.file();
    const std::string& name = program.name();
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

    auto stages = std::make_unique<Stages>(machine, name);
    std::string block(kBlockBytes, '\0');
    double read_bytes = 0.0;
    bool wanted = true;
    while (const std::size_t got = std::fread(block.data(), 1, block.size(), handle.get())) {
        const auto moves = stages->read(std::string_view(block).substr(0, got));
        wanted = sink(moves);
        if (!wanted) break;
        read_bytes += static_cast<double>(got);
        if (progress) progress(std::min(read_bytes / size, 1.0));
    }
    if (std::ferror(handle.get()) != 0) return unreadable(name, std::strerror(errno));
    if (wanted) {
        const auto moves = stages->finish();
        sink(moves);
    }
    if (!stages->reader.errors().empty()) return stages->reader.errors();
    return PlannedFile{stages->reader.notes(), stages->path.trailing_rest().value()};
}

}  // namespace stepper_sim
