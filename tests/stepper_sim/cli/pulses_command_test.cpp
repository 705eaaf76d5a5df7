// The pulses command as a user meets it: whole files, spans, one-line errors.
#include <gtest/gtest.h>

#include <algorithm>

#include "command_line.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim::samples;
namespace fs = std::filesystem;

constexpr std::string_view kThere = "G21 G90\nG1 X5 Y2 F3000\nX1\nM2\n";

std::string text_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

std::size_t lines_of(const std::string& text) {
    return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

struct Inputs {
    TextFile machine{kBench, "bench.toml"}, program{kThere}, empty{"", "keep"};
    std::string both() const { return machine.name() + " " + program.name(); }
    fs::path out(const std::string& name) const { return empty.path().parent_path() / name; }
};

TEST(PulsesCommand, SummaryCountsTheStepsOfEveryMotor) {
    const Inputs in;
    const Ran ran = run_tool("pulses " + in.both());
    EXPECT_EQ(ran.exit, 0) << ran.err;
    // 5 mm up and 4 mm down at 80 steps/mm; Y 2 mm up.
    EXPECT_NE(ran.out.find("X        720   400    320   80"), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("Y        160   160      0  160"), std::string::npos) << ran.out;
}

TEST(PulsesCommand, FileAndStandardOutputHoldTheSame) {
    const Inputs in;
    for (const std::string format : {"--vcd", "--csv"}) {
        const fs::path file = in.out("trace");
        EXPECT_EQ(run_tool("pulses " + in.both() + " " + format + " " + file.string()).exit, 0);
        const Ran printed = run_tool("pulses " + in.both() + " " + format + " -");
        EXPECT_EQ(printed.exit, 0) << printed.err;
        EXPECT_GT(lines_of(printed.out), 700U);
        EXPECT_EQ(text_of(file), printed.out) << format;
    }
    const auto files = std::distance(fs::directory_iterator(in.out("")), fs::directory_iterator());
    EXPECT_EQ(files, 2) << "a partial file was left";
}

TEST(PulsesCommand, SpansSideBySideHoldEveryStepOnce) {
    const Inputs in;
    const auto rises = [&](const std::string& span) {
        const std::string out = run_tool("pulses " + in.both() + " --vcd - " + span).out;
        std::size_t count = 0;
        for (std::size_t at = 0; (at = out.find("\n1!", at)) != std::string::npos; ++at)
            ++count;
        return count;
    };
    const std::size_t first = rises("--to '80 ms'"), second = rises("--from '80 ms'");
    EXPECT_GT(first, 0U);
    EXPECT_GT(second, 0U);
    EXPECT_EQ(first + second, rises(""));
}

TEST(PulsesCommand, ErrorsAreOneLineAndLeaveNoFile) {
    const Inputs in;
    const TextFile wrong("G21\nG1 X1 F100\nX..5\n");
    const std::string file = in.out("none.vcd").string();
    for (const std::string& arguments :
         {in.both() + " --from 2", in.both() + " --from '2 s' --to '1 s'",
          in.both() + " --vcd - --csv -", in.both() + " --vcd /nowhere/at.vcd",
          in.both() + " --vcd /dev/full", in.machine.name() + " " + wrong.name() + " --vcd " + file,
          in.machine.name() + " missing.ngc --vcd " + file}) {
        const Ran ran = run_tool("pulses " + arguments);
        EXPECT_EQ(ran.exit, 2) << arguments;
        EXPECT_EQ(lines_of(ran.err), 1U) << arguments << "\n" << ran.err;
        EXPECT_EQ(ran.out, "") << arguments;
    }
    EXPECT_FALSE(fs::exists(file));
}

}  // namespace
