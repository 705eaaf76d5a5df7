// Fuzzes the reader of programs and the path: any bytes, read in two pieces, must end without a
// crash, keep the bounds of errors and notes, give finite positions, and give the same commands as
// when read in one piece. Built with -DSTEPPER_SIM_FUZZ=ON (clang).
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "planner/path/path_builder.hpp"
#include "planner/program/program_reader.hpp"

namespace {

void require(bool claim) {
    if (!claim) {
        std::abort();
    }
}

planner::ProgramSettings settings() {
    planner::ProgramSettings result;
    result.axes = planner::AxisSet("XYZAE");
    result.ignored_axes = "U";
    result.words = {{"M7304", {planner::WordEffect::relative_e}},
                    {"M7303", {planner::WordEffect::absolute_e}},
                    {"M7301", {planner::WordEffect::set_acceleration, "S"}},
                    {"M7302", {planner::WordEffect::text}},
                    {"M7305", {planner::WordEffect::call, "P", "L"}},
                    {"M7306", {planner::WordEffect::give_back}},
                    {"G7029", {planner::WordEffect::ignore}}};
    result.tool_lengths_m = {{1, 0.05}};
    result.compensation_as_written = true;
    return result;
}

// So that endless programs, of which noise makes many, cost little.
constexpr planner::FlowBounds kBounds{300, 2000, 8};

struct Outcome {
    std::vector<planner::Command> commands;
    std::uint64_t errors = 0;
};

Outcome read(std::string_view text, std::size_t cut) {
    static const planner::ProgramSettings machine = settings();
    planner::ProgramReader reader(machine, "fuzz", kBounds);
    Outcome outcome;
    reader.read(text.substr(0, cut), outcome.commands);
    reader.read(text.substr(cut), outcome.commands);
    while (!reader.finish(outcome.commands, outcome.commands.size() + 1 + cut)) {
    }
    outcome.errors = reader.notes().errors;
    require(reader.errors().size() <= planner::kMaxErrors);
    require(reader.notes().commands == outcome.commands.size());
    require(reader.notes().unknown_words.size() <= planner::kMaxUnknownWords);
    for (const planner::Diagnostic& error : reader.errors()) {
        require(to_line(error).find('\n') == std::string::npos);
    }
    return outcome;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view text(reinterpret_cast<const char*>(data),
                                size);  // NOLINT(*-reinterpret-cast)
    const Outcome whole = read(text, 0);
    const Outcome halves = read(text, size > 0 ? data[0] % size : 0);
    require(whole.commands.size() == halves.commands.size() && whole.errors == halves.errors);
    for (std::size_t i = 0; i < whole.commands.size(); ++i) {
        require(whole.commands[i].target_m == halves.commands[i].target_m);
        for (const double target_m : whole.commands[i].target_m) {
            require(std::isfinite(target_m));
        }
    }
    const planner::ProgramSettings machine = settings();
    constexpr double kTolerance_m = 1e-4;
    planner::PathBuilder builder(machine, planner::from_si<planner::Length>(kTolerance_m));
    std::vector<planner::Move> moves;
    for (const planner::Command& command : whole.commands) {
        moves.clear();
        builder.push({&command, 1}, moves);
        for (const planner::Move& move : moves) {
            require(move.length_m > 0.0 && std::isfinite(move.length_m));
            require(move.feed_m_s > 0.0);
        }
    }
    return 0;
}
