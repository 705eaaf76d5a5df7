#include "stepper_sim/run/plan_file.hpp"

#include <oneapi/tbb/parallel_pipeline.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <utility>

#include "stepper_sim/run/program_text.hpp"
#include "stepper_sim/run/stages.hpp"

namespace stepper_sim::run {

namespace {

// Large enough that a block's moves amortise the hand-over between threads, small enough that a few
// blocks of them (half a kilobyte a move) stay in the second-level cache.
constexpr std::size_t kBlockBytes = std::size_t{1} << 14U;
// One is planned while the one before is consumed; more smooth out what differs between blocks.
constexpr std::size_t kBlocksInFlight = 4;

struct TextEnd {
    std::size_t errors = 0;  // of the program, in the blocks that the sink took
    int read_error = 0;      // errno of a file that could not be read to its end
};

/// Reads and plans on one thread while the sink takes the moves of the blocks before on another: the
/// same moves in the same order on any number of threads.
TextEnd plan_text(std::FILE* file, double size_bytes, Stages& stages, const MotorMoveSink& sink,
                  const ProgressCall& progress, std::vector<planner::Move>* path) {
    struct Block {
        std::vector<planner::MotorMove> moves;
        std::size_t errors = 0;
        double read_bytes = 0.0;
    };
    TextEnd end;
    std::array<Block, kBlocksInFlight> blocks;
    std::string text(kBlockBytes, '\0');
    std::atomic<bool> wanted = true;
    double read_bytes = 0.0;
    std::size_t next = 0;
    const auto plan = [&](tbb::flow_control& flow) -> Block* {
        if (stages.ended() || !wanted) {
            flow.stop();
            return nullptr;
        }
        // A block is free again once the one so many places later is asked for.
        Block& block = blocks[next++ % kBlocksInFlight];
        if (stages.has_more()) {
            stages.more();
        } else {
            const std::size_t got = std::fread(text.data(), 1, text.size(), file);
            read_bytes += static_cast<double>(got);
            if (got == 0 && std::ferror(file) != 0) {
                end.read_error = errno;
                flow.stop();
                return nullptr;
            }
            got == 0 ? stages.finish() : stages.read(std::string_view(text).substr(0, got));
        }
        if (path != nullptr) path->insert(path->end(), stages.moves.begin(), stages.moves.end());
        block.read_bytes = read_bytes;
        std::swap(block.moves, stages.motor_moves);
        block.errors = stages.reader.errors().size();
        return &block;
    };
    const auto consume = [&](const Block* block) {
        if (!wanted) return;
        wanted = sink(block->moves);
        end.errors = block->errors;
        if (wanted && progress) progress(std::min(block->read_bytes / size_bytes, 1.0));
    };
    const auto in_order = tbb::filter_mode::serial_in_order;
    tbb::parallel_pipeline(kBlocksInFlight, tbb::make_filter<void, Block*>(in_order, plan) &
                                                tbb::make_filter<Block*, void>(in_order, consume));
    return end;
}

PlannedFile plan_moves(const machine::Machine& machine, const ProgramSource& program,
                       const MotorMoveSink& sink, const ProgressCall& progress) {
    const auto stages = std::make_unique<Stages>(machine, program.name());
    std::span<const planner::Move> left(program.moves()->moves);
    while (!left.empty()) {
        const auto block = left.first(std::min(left.size(), kMovesAtOnce));
        left = left.subspan(block.size());
        if (!sink(stages->take(block, left.empty()))) break;
        const auto all = static_cast<double>(program.moves()->moves.size());
        if (progress) progress(1.0 - static_cast<double>(left.size()) / all);
    }
    return {program.moves()->notes, program.moves()->trailing_rest_s};
}

planner::Result<PlannedFile> plan_through(Stages& stages, const ProgramSource& program,
                                          const MotorMoveSink& sink, const ProgressCall& progress,
                                          std::vector<planner::Move>* path = nullptr) {
    const std::string& name = program.name();
    const auto text = open_program(name);
    if (!text) return text.diagnostics();
    const TextEnd end =
        plan_text(text.value().file.get(), text.value().size_bytes, stages, sink, progress, path);
    if (end.read_error != 0) return unreadable_program(name, std::strerror(end.read_error));
    const auto& errors = stages.reader.errors();
    if (end.errors > 0)
        return std::vector(errors.begin(),
                           errors.begin() + static_cast<std::ptrdiff_t>(end.errors));
    planner::ProgramNotes notes = stages.reader.notes();
    if (const planner::CoarseArcs& arcs = stages.path.coarse_arcs(); arcs.count > 0)
        notes.spots.push_back({planner::SpotKind::coarse_arc, arcs.count, arcs.first_line, {}});
    return PlannedFile{std::move(notes), stages.path.trailing_rest().value()};
}

}  // namespace

planner::Result<PlannedFile> plan_file(const machine::Machine& machine,
                                       const ProgramSource& program, const MotorMoveSink& sink,
                                       const ProgressCall& progress) {
    if (program.moves() != nullptr) return plan_moves(machine, program, sink, progress);
    auto stages = std::make_unique<Stages>(machine, program.name());
    return plan_through(*stages, program, sink, progress);
}

planner::Result<ProgramSource> read_once(const machine::Machine& machine,
                                         const ProgramSource& program, std::size_t most) {
    if (program.moves() != nullptr) return program;
    auto stages = std::make_unique<Stages>(machine, program.name());
    ProgramMoves kept;
    std::size_t planned = 0;
    const auto enough = [&](std::span<const planner::MotorMove> moves) {
        planned += moves.size();
        return planned <= most;
    };
    const auto read = plan_through(*stages, program, enough, {}, &kept.moves);
    if (!read) return read.diagnostics();
    if (planned > most) return program;
    kept.notes = read.value().notes;
    kept.trailing_rest_s = read.value().trailing_rest_s;
    return program.with(std::move(kept));
}

planner::Result<std::vector<ProgramSource>> read_once(const machine::Machine& machine,
                                                      std::span<const ProgramSource> programs) {
    std::vector<ProgramSource> all;
    std::vector<planner::Diagnostic> wrong;
    for (const ProgramSource& program : programs) {
        auto kept = read_once(machine, program);
        if (kept)
            all.push_back(std::move(kept).value());
        else
            wrong.insert(wrong.end(), kept.diagnostics().begin(), kept.diagnostics().end());
    }
    if (!wrong.empty()) return wrong;
    return all;
}

}  // namespace stepper_sim::run
