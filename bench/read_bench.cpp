// Question: what does it cost to read a program, per line, beside the cheapest thing that can be
// done with the same bytes? Included: text in memory, cut into blocks of 64 KiB, to commands (and
// moves). Excluded: reading the file from disk. Realistic: 200,000 lines of straight printing
// moves, 3 to 6 digits a number, as surveyed programs have (median line 29 bytes). Floors in the
// same run: a newline scan with memchr; scanners that only sum the numbers, with fast_float and
// with strtod. Every row folds what it read into a sum that must equal the generator's, so that a
// fast wrong answer fails.
#include <benchmark/benchmark.h>
#include <fast_float/fast_float.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <random>
#include <string>

#include "planner/path/path_builder.hpp"
#include "planner/program/program_reader.hpp"

namespace {

constexpr int kLines = 200000;
constexpr std::size_t kBlock = std::size_t{64} << 10U;

struct Input {
    std::string text;
    double sum_mm = 0.0;  // of all X, Y and E words
};

const Input& input() {
    static const Input made = [] {
        Input result;
        std::mt19937 random(
            20261125);  // NOLINT(bugprone-random-generator-seed): the same text every time
        const auto below = [&](unsigned limit) { return static_cast<int>(random() % limit); };
        result.text = "G1 F1800\n";
        for (int i = 1; i < kLines; ++i) {
            const int x = below(200000), y = below(20000), e = below(5000);
            std::array<char, 80> line{};
            std::snprintf(line.data(), line.size(), "G1 X%d.%03d Y%d.%02d E0.%05d\n", x / 1000,
                          x % 1000, y / 100, y % 100, e);
            result.text += line.data();
            result.sum_mm += x / 1e3 + y / 1e2 + e / 1e5;
        }
        return result;
    }();
    return made;
}

void report(benchmark::State& state, double sum_mm) {
    constexpr double kSummation = 1e-9;  // relative; rounding of 600,000 additions
    if (std::fabs(sum_mm / input().sum_mm - 1.0) > kSummation) {
        state.SkipWithError("sum of the words read differs from the sum written");
    }
    state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations()) *
                            static_cast<std::int64_t>(input().text.size()));
    state.counters["per_line"] = benchmark::Counter(
        kLines, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

planner::ProgramSettings settings() {
    planner::ProgramSettings result;
    result.axes = planner::AxisSet("XYZE");
    return result;
}

void newline_scan(benchmark::State& state) {
    const std::string& text = input().text;
    std::int64_t lines = 0;
    for (auto _ : state) {
        lines = 0;
        const char* p = text.data();
        const char* const end = p + text.size();
        while (const void* found = std::memchr(p, '\n', static_cast<std::size_t>(end - p))) {
            ++lines;
            p = static_cast<const char*>(found) + 1;
        }
        benchmark::DoNotOptimize(lines);
    }
    report(state, lines == kLines ? input().sum_mm : 0.0);
}

template <class Parse>
void number_scan(benchmark::State& state, Parse parse) {
    const std::string& text = input().text;
    double sum = 0.0;
    for (auto _ : state) {
        sum = 0.0;
        const char* p = text.data();
        const char* const end = p + text.size();
        while (p != end) {
            const char c = *p++;
            if (c == 'X' || c == 'Y' || c == 'E') {
                double value = 0.0;
                p = parse(p, end, value);
                sum += value;
            }
        }
        benchmark::DoNotOptimize(sum);
    }
    report(state, sum);
}

void fast_float_scan(benchmark::State& state) {
    number_scan(state, [](const char* p, const char* end, double& value) {
        return fast_float::from_chars(p, end, value).ptr;
    });
}

void strtod_scan(benchmark::State& state) {
    number_scan(state, [](const char* p, const char*, double& value) {
        char* next = nullptr;
        value = std::strtod(p, &next);
        return static_cast<const char*>(next);
    });
}

template <class Use>
void read_in_blocks(Use use) {
    const std::string& text = input().text;
    const planner::ProgramSettings machine = settings();
    planner::ProgramReader reader(machine);
    std::vector<planner::Command> commands;
    for (std::size_t at = 0; at < text.size(); at += kBlock) {
        commands.clear();
        reader.read(std::string_view(text).substr(at, kBlock), commands);
        use(commands);
    }
    commands.clear();
    reader.finish(commands);
    use(commands);
}

void read_commands(benchmark::State& state) {
    double sum_m = 0.0;
    for (auto _ : state) {
        sum_m = 0.0;
        read_in_blocks([&](const std::vector<planner::Command>& commands) {
            for (const planner::Command& command : commands) {
                sum_m += command.target_m[0] + command.target_m[1] + command.target_m[3];
            }
        });
        benchmark::DoNotOptimize(sum_m);
    }
    report(state, sum_m * 1e3);
}

void read_moves(benchmark::State& state) {
    double sum_m = 0.0;
    for (auto _ : state) {
        sum_m = 0.0;
        planner::PathBuilder builder(settings(), planner::from_si<planner::Length>(1e-5));
        std::vector<planner::Move> moves;
        read_in_blocks([&](const std::vector<planner::Command>& commands) {
            moves.clear();
            builder.push(commands, moves);
            for (const planner::Move& move : moves) {
                sum_m += move.end_m[0] + move.end_m[1] + move.end_m[3];
            }
        });
        benchmark::DoNotOptimize(sum_m);
    }
    report(state, sum_m * 1e3);
}

}  // namespace

BENCHMARK(newline_scan)->Unit(benchmark::kMillisecond);
BENCHMARK(fast_float_scan)->Unit(benchmark::kMillisecond);
BENCHMARK(strtod_scan)->Unit(benchmark::kMillisecond);
BENCHMARK(read_commands)->Unit(benchmark::kMillisecond);
BENCHMARK(read_moves)->Unit(benchmark::kMillisecond);
