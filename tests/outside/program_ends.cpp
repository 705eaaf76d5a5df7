// Prints, for each program named, what ours makes of it: one line of tab-separated figures that
// program_reference.py compares with its own. Name, number of errors, end of X Y Z E in mm, straight
// moves that move, arcs, seconds of dwells, length of the path in X Y Z in mm.
#include <cmath>
#include <cstdio>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "planner/path/path_builder.hpp"
#include "planner/program/program_reader.hpp"

namespace {

using namespace planner;

constexpr double kMoves_m = 1e-9;       // a shorter way is the rounding of sums
constexpr double kChord_m = 1e-8;       // chords of arcs: lengths to a few parts in a million
constexpr std::size_t kAtOnce = 10000;  // commands between two pauses of a loop

ProgramSettings settings() {
    ProgramSettings result;
    result.axes = AxisSet("XYZE");
    result.words = {{"M7303", {WordEffect::absolute_e}},
                    {"M7304", {WordEffect::relative_e}},
                    {"M7331", {WordEffect::call, "P", "L"}},
                    {"M7332", {WordEffect::give_back}}};
    return result;
}

struct Figures {
    AxisArray at_m{};
    unsigned long lines = 0, arcs = 0;
    double dwells_s = 0.0, length_m = 0.0;
};

void add(const std::vector<Command>& commands, PathBuilder& builder, Figures& figures) {
    for (const Command& command : commands) {
        double way_m = 0.0;
        for (std::size_t i = 0; i < command.target_m.size(); ++i) {
            way_m = std::max(way_m, std::fabs(command.target_m[i] - figures.at_m[i]));
        }
        figures.lines += command.kind == CommandKind::line && way_m > kMoves_m ? 1U : 0U;
        figures.arcs += command.kind == CommandKind::arc ? 1U : 0U;
        figures.dwells_s += command.kind == CommandKind::dwell ? command.seconds : 0.0;
        figures.at_m = command.target_m;
    }
    std::vector<Move> moves;
    builder.push(commands, moves);
    for (const Move& move : moves) {
        figures.length_m +=
            std::hypot(move.end_m[0] - move.start_m[0], move.end_m[1] - move.start_m[1],
                       move.end_m[2] - move.start_m[2]);
    }
}

void print_figures(const char* name) {
    std::ifstream file(name, std::ios::binary);
    const std::string text(std::istreambuf_iterator<char>(file), {});
    const ProgramSettings machine = settings();
    ProgramReader reader(machine, name);
    PathBuilder builder(machine, from_si<Length>(kChord_m));
    Figures figures;
    std::vector<Command> commands;
    reader.read(text, commands);
    for (bool finished = false; !finished;) {
        finished = reader.finish(commands, kAtOnce);
        add(commands, builder, figures);
        commands.clear();
    }
    for (const Diagnostic& error : reader.errors()) {
        std::fprintf(stderr, "%s\n", to_line(error).c_str());
    }
    const AxisArray& at_m = reader.position_m();
    std::printf("%s\t%llu\t%.9f\t%.9f\t%.9f\t%.9f\t%lu\t%lu\t%.6f\t%.6f\n", name,
                static_cast<unsigned long long>(reader.notes().errors), at_m[0] * 1e3,
                at_m[1] * 1e3, at_m[2] * 1e3, at_m[3] * 1e3, figures.lines, figures.arcs,
                figures.dwells_s, figures.length_m * 1e3);
}

}  // namespace

int main(int count, char** names) {
    for (int i = 1; i < count; ++i) {
        print_figures(names[i]);
    }
    return 0;
}
