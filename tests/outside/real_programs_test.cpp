// Reads programs that people have published. They are not part of this project: the environment
// variable STEPPER_SIM_PROGRAMS names the folder that holds them; without it these tests are
// skipped.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <regex>

#include "planner/path/path_builder.hpp"
#include "tests/planner/program/read_text.hpp"

namespace planner::test {
namespace {

std::vector<std::filesystem::path> real_programs() {
    std::vector<std::filesystem::path> files;
    const char* const folder =
        std::getenv("STEPPER_SIM_PROGRAMS");  // NOLINT(concurrency-mt-unsafe)
    if (folder != nullptr) {
        for (const auto& entry : std::filesystem::directory_iterator(folder)) {
            if (entry.is_regular_file()) {
                files.push_back(entry.path());
            }
        }
    }
    std::sort(files.begin(), files.end());
    return files;
}

std::string content(const std::filesystem::path& file) {
    std::ifstream stream(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), {}};
}

// Another route to the number of motion lines: regular expressions over the text without its
// comments.
std::uint64_t motion_lines(const std::string& text) {
    static const std::regex comment(R"(\([^)]*\)|;.*)");
    static const std::regex end(R"(^\s*(N\d+\s*)?M0?(2|30)\b)", std::regex::icase);
    static const std::regex other(R"(^\s*(N\d+\s*)?(.*[^A-Z])?(M\d|G92|G28|G10|G4\b))",
                                  std::regex::icase);
    static const std::regex motion(R"(^\s*(N\d+\s*)?(G\d+\s*)*G0*[0-3]\s*.*[XYZE]\s*[-+.\d\[#])",
                                   std::regex::icase);
    std::uint64_t count = 0;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        line = std::regex_replace(line, comment, "");
        if (std::regex_search(line, end)) {
            break;
        }
        count += std::regex_search(line, motion) && !std::regex_search(line, other) ? 1U : 0U;
    }
    return count;
}

TEST(RealPrograms, AreReadWithoutErrors) {
    const std::vector<std::filesystem::path> files = real_programs();
    if (files.empty()) {
        GTEST_SKIP() << "set STEPPER_SIM_PROGRAMS to a folder of programs to run this test";
    }
    for (const auto& file : files) {
        const ReadResult result = read_text(content(file), printer());
        EXPECT_TRUE(result.errors.empty())
            << file << ' ' << (result.errors.empty() ? "" : to_line(result.errors[0]));
        EXPECT_FALSE(result.commands.empty()) << file;
    }
}

TEST(RealPrograms, GiveAtLeastOneCommandPerMotionLine) {
    const std::vector<std::filesystem::path> files = real_programs();
    if (files.empty()) {
        GTEST_SKIP() << "set STEPPER_SIM_PROGRAMS to a folder of programs to run this test";
    }
    std::uint64_t all = 0;
    for (const auto& file : files) {
        const std::string text = content(file);
        all += motion_lines(text);
        const ReadResult result = read_text(text, printer());
        const auto motions = static_cast<std::uint64_t>(std::count_if(
            result.commands.begin(), result.commands.end(), [](const Command& command) {
                return command.kind == CommandKind::line || command.kind == CommandKind::arc;
            }));
        EXPECT_GE(motions, motion_lines(text)) << file;
        // A drilled hole is at most five moves; nothing else is more than two.
        EXPECT_LE(motions, 5 * result.notes.lines) << file;
    }
    EXPECT_GT(all, files.size());  // the other route does find motion
}

TEST(RealPrograms, MakePathsWithoutGaps) {
    const std::vector<std::filesystem::path> files = real_programs();
    if (files.empty()) {
        GTEST_SKIP() << "set STEPPER_SIM_PROGRAMS to a folder of programs to run this test";
    }
    for (const auto& file : files) {
        const ProgramSettings settings = printer();
        const ReadResult result = read_text(content(file), settings);
        constexpr double kTolerance_m = 1e-5;
        PathBuilder builder(settings, from_si<Length>(kTolerance_m));
        std::vector<Move> moves;
        builder.push(result.commands, moves);
        AxisArray at_m = settings.start_m;
        for (const Move& move : moves) {
            ASSERT_EQ(move.start_m, at_m) << file << " line " << move.line;
            ASSERT_GT(move.length_m, 0.0);
            ASSERT_LT(move.length_m, 10.0)
                << file << " line " << move.line;  // nobody's machine is 10 m long
            at_m = move.end_m;
        }
        EXPECT_EQ(builder.coarse_arcs().count, 0U) << file;
    }
}

}  // namespace
}  // namespace planner::test
