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
                  const ProgressCall& progress) {
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

planner::Result<PlannedFile> plan_file(const machine::Machine& machine,
                                       const ProgramSource& program, const MotorMoveSink& sink,
                                       const ProgressCall& progress) {
    if (program.moves() != nullptr) return plan_moves(machine, program, sink);
    const std::string& name = program.name();
    const auto text = open_program(name);
    if (!text) return text.diagnostics();
    auto stages = std::make_unique<Stages>(machine, name);
    const TextEnd end =
        plan_text(text.value().file.get(), text.value().size_bytes, *stages, sink, progress);
    if (end.read_error != 0) return unreadable_program(name, std::strerror(end.read_error));
    const auto& errors = stages->reader.errors();
    if (end.errors > 0)
        return std::vector(errors.begin(),
                           errors.begin() + static_cast<std::ptrdiff_t>(end.errors));
    planner::ProgramNotes notes = stages->reader.notes();
    if (const planner::CoarseArcs& arcs = stages->path.coarse_arcs(); arcs.count > 0)
        notes.spots.push_back({planner::SpotKind::coarse_arc, arcs.count, arcs.first_line, {}});
    return PlannedFile{std::move(notes), stages->path.trailing_rest().value()};
}

}  // namespace stepper_sim::run
