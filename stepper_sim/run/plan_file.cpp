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

/// A program's text on its way into the stages.
class TextFeed {
  public:
    TextFeed(std::FILE* file, Stages& stages)
        : file_(file), stages_(stages), text_(kBlockBytes, '\0') {}

    /// Reads on until the stages have the next moves, maybe none; false at the end and where the file cannot be read.
    bool next() {
        if (stages_.ended()) return false;
        if (stages_.has_more()) {
            stages_.more();
            return true;
        }
        const std::size_t got = std::fread(text_.data(), 1, text_.size(), file_);
        read_bytes_ += static_cast<double>(got);
        if (got == 0 && std::ferror(file_) != 0) {
            error_ = errno;
            return false;
        }
        got == 0 ? stages_.finish() : stages_.read(std::string_view(text_).substr(0, got));
        return true;
    }
    double read_bytes() const { return read_bytes_; }
    int error() const { return error_; }  // errno of a file that could not be read to its end

  private:
    std::FILE* file_;
    Stages& stages_;
    std::string text_;
    double read_bytes_ = 0.0;
    int error_ = 0;
};

/// Reads and plans on one thread while the sink takes the moves of the blocks before on another: the
/// same moves in the same order on any number of threads. Returns the errors of the program in the blocks that the sink took.
std::size_t plan_text(TextFeed& feed, double size_bytes, Stages& stages, const MotorMoveSink& sink,
                      const ProgressCall& progress) {
    struct Block {
        std::vector<planner::MotorMove> moves;
        std::size_t errors = 0;
        double read_bytes = 0.0;
    };
    std::size_t errors = 0;
    std::array<Block, kBlocksInFlight> blocks;
    std::atomic<bool> wanted = true;
    std::size_t next = 0;
    const auto plan = [&](tbb::flow_control& flow) -> Block* {
        if (!wanted || !feed.next()) {
            flow.stop();
            return nullptr;
        }
        // A block is free again once the one so many places later is asked for.
        Block& block = blocks[next++ % kBlocksInFlight];
        block.read_bytes = feed.read_bytes();
        std::swap(block.moves, stages.motor_moves);
        block.errors = stages.reader.errors().size();
        return &block;
    };
    const auto consume = [&](const Block* block) {
        if (!wanted) return;
        wanted = sink(block->moves);
        errors = block->errors;
        if (wanted && progress) progress(std::min(block->read_bytes / size_bytes, 1.0));
    };
    const auto in_order = tbb::filter_mode::serial_in_order;
    tbb::parallel_pipeline(kBlocksInFlight, tbb::make_filter<void, Block*>(in_order, plan) &
                                                tbb::make_filter<Block*, void>(in_order, consume));
    return errors;
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

/// What is known at the end of a text, or where its reader needed no more.
planner::Result<PlannedFile> end_of(const std::string& name, const TextFeed& feed,
                                    const Stages& stages, std::size_t error_count) {
    if (feed.error() != 0) return unreadable_program(name, std::strerror(feed.error()));
    const auto& errors = stages.reader.errors();
    if (error_count > 0)
        return std::vector(errors.begin(),
                           errors.begin() + static_cast<std::ptrdiff_t>(error_count));
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
    const auto text = open_program(program.name());
    if (!text) return text.diagnostics();
    auto stages = std::make_unique<Stages>(machine, program.name());
    TextFeed feed(text.value().file.get(), *stages);
    const std::size_t errors = plan_text(feed, text.value().size_bytes, *stages, sink, progress);
    return end_of(program.name(), feed, *stages, errors);
}

planner::Result<PlannedFile> read_path(const machine::Machine& machine,
                                       const ProgramSource& program, const PathSink& sink) {
    if (const ProgramMoves* kept = program.moves()) {
        sink(kept->moves);
        return PlannedFile{kept->notes, kept->trailing_rest_s};
    }
    const auto text = open_program(program.name());
    if (!text) return text.diagnostics();
    auto stages = std::make_unique<Stages>(machine, program.name());
    TextFeed feed(text.value().file.get(), *stages);
    while (feed.next() && sink(stages->moves)) {
    }
    return end_of(program.name(), feed, *stages, stages->reader.errors().size());
}

planner::Result<ProgramSource> read_once(const machine::Machine& machine,
                                         const ProgramSource& program, std::size_t most) {
    if (program.moves() != nullptr) return program;
    ProgramMoves kept;
    const auto read = read_path(machine, program, [&](std::span<const planner::Move> moves) {
        kept.moves.insert(kept.moves.end(), moves.begin(), moves.end());
        return kept.moves.size() <= most;
    });
    if (!read) return read.diagnostics();
    if (kept.moves.size() > most) return program;
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
