// The capture command as a user meets it: verdicts, channels, one-line errors.
#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <sstream>

#include "command_line.hpp"
#include "tests/stepper_sim/samples.hpp"

namespace {

using namespace stepper_sim::samples;

const std::string kShipped = std::string(STEPPER_SIM_CONFIGS) + "/machines/label-plotter.toml " +
                             STEPPER_SIM_CONFIGS + "/captures/label-plotter.vcd";
const std::string kProgram = std::string(STEPPER_SIM_CONFIGS) + "/programs/seed-labels.gcode";

TEST(CaptureCommand, ExitStatusFollowsTheVerdict) {
    EXPECT_EQ(run_tool("capture " + kShipped).exit, 0);
    EXPECT_EQ(run_tool("capture " + kShipped + " " + kProgram).exit, 1);
    EXPECT_EQ(run_tool("capture " + kShipped + ".none").exit, 2);
}

TEST(CaptureCommand, JsonTellsTheMissingPulse) {
    const Ran ran = run_tool("capture --json - " + kShipped + " " + kProgram);
    const auto json = nlohmann::json::parse(ran.out);
    EXPECT_EQ(json.at("schema"), "stepper_sim.capture.1");
    EXPECT_EQ(json.at("verdict"), "fault");
    EXPECT_EQ(json.at("motors").at("x").at("plan").at("missing").at("count"), 1);
    EXPECT_EQ(json.at("motors").at("y").at("plan").at("missing").at("count"), 0);
}

// What it says to type makes it fit.
TEST(CaptureCommand, ExchangedLinesAreSaidWithTheOptionsThatPutThemRight) {
    const std::string wrong =
        " --channel step.x=y_step --channel direction.x=y_dir --channel step.y=x_step --channel "
        "direction.y=x_dir";
    const Ran ran = run_tool("capture --json - " + kShipped + " " + kProgram + wrong);
    EXPECT_EQ(ran.exit, 1);
    const auto json = nlohmann::json::parse(ran.out);
    const auto& right = json.at("other_channels").at("motors");
    EXPECT_EQ(right.at("x").at("step_channel"), "x_step");
    EXPECT_EQ(right.at("y").at("direction_channel"), "y_dir");
    EXPECT_EQ(json.at("motors").at("x").at("plan").at("missing").at("count"), 1);
    std::string said;
    for (const auto& finding : json.at("findings"))
        if (finding.at("check") == "channels") said = finding.at("message");
    const std::size_t options = said.find(" --channel");
    ASSERT_NE(options, std::string::npos) << ran.out;
    const Ran again =
        run_tool("capture --json - " + kShipped + " " + kProgram + said.substr(options));
    EXPECT_TRUE(nlohmann::json::parse(again.out).at("other_channels").is_null()) << again.out;
    std::istringstream text(run_tool("capture " + kShipped + " " + kProgram + wrong).out);
    for (std::string line; std::getline(text, line);)
        EXPECT_LE(line.size(), 80U) << line;
}

TEST(CaptureCommand, ChannelsAreNamedByOptionOrMachineFile) {
    const std::string trace =
        "Time [us],D0,D1,D7\n0,1,0,1\n10,0,0,1\n12,1,0,1\n1000,0,0,0\n1002,1,0,0\n";
    const TextFile csv(trace, "t.csv"), bench(kBench, "bench.toml");
    const std::string lines = " --channel step.x=D0 --channel direction.x=D1 ";
    const Ran named = run_tool("capture --json - " + bench.name() + " " + csv.name() + lines +
                               "--invert step.x --invert direction.x");
    const auto json = nlohmann::json::parse(named.out);
    EXPECT_EQ(json.at("motors").at("x").at("net_steps"), 2) << named.out;
    EXPECT_EQ(json.at("motors").size(), 1U);
    const TextFile with(std::string(kBench) +
                            "[capture]\nstep = { x = \"D0\" }\ndirection = { x = \"D1\" }\n"
                            "inverted = [\"step.x\", \"direction.x\"]\n",
                        "bench.toml");
    const Ran in_file = run_tool("capture --json - " + with.name() + " " + csv.name());
    EXPECT_EQ(nlohmann::json::parse(in_file.out).at("motors").at("x").at("net_steps"), 2);
}

TEST(CaptureCommand, MotorsWithoutLinesAreSaidNotToBeJudged) {
    const TextFile bench(kBench, "bench.toml");
    const auto capture = [&](const std::string& trace) {
        return run_tool("capture " + bench.name() + " " + TextFile(trace, "t.csv").name());
    };
    const Ran one = capture("time_s,x_step,x_dir\n0,0,1\n1,1,1\n2,0,1\n");
    EXPECT_EQ(one.exit, 0) << one.err;
    EXPECT_EQ(one.out.substr(0, one.out.find('\n')), "clear for X; not recorded: Y, Z");
    const Ran half = capture("time_s,x_step,x_dir,y_step\n0,0,1,0\n");
    EXPECT_EQ(half.exit, 2);
    EXPECT_NE(half.err.find("found 'no line y_dir'"), std::string::npos) << half.err;
    const Ran none = capture("time_s,D0,D1\n0,0,1\n");
    EXPECT_EQ(none.exit, 2);
    EXPECT_NE(none.err.find("such as x_step and x_dir, among the recorded lines: D0, D1"),
              std::string::npos)
        << none.err;
}

TEST(CaptureCommand, TextFitsEightyColumns) {
    for (const std::string& program : {std::string(), kProgram}) {
        std::istringstream text(run_tool("capture " + kShipped + " " + program).out);
        for (std::string line; std::getline(text, line);)
            EXPECT_LE(line.size(), 80U) << line;
    }
}

TEST(CaptureCommand, ErrorsAreOneLineAndNameWhatIsWrong) {
    const TextFile csv("time_s,D0,D1\n0,0,0\n", "t.csv"), bench(kBench, "bench.toml");
    const TextFile wrong(std::string(kBench) + "[capture]\nstop = { x = \"D0\" }\n", "bench.toml");
    const TextFile line(std::string(kBench) + "[capture]\ninverted = [\"step.q\"]\n", "bench.toml");
    const std::string both = bench.name() + " " + csv.name();
    for (const auto& [arguments, said] : {
             std::pair{both + " --channel step.q=D0", "step.q"},
             std::pair{both + " --channel step.x", "step.x=D0"},
             std::pair{both + " --invert stpe.x", "step.x"},
             std::pair{both + " --resolution 5", "--resolution"},
             std::pair{both + " --channel step.x=D0 --channel direction.x=D9", "D0, D1"},
             std::pair{wrong.name() + " " + csv.name(), "step"},
             std::pair{line.name() + " " + csv.name(), "step.q"},
             std::pair{bench.name() + " /tmp", "not a regular file"},
         }) {
        const Ran ran = run_tool("capture " + arguments);
        EXPECT_EQ(ran.exit, 2) << arguments;
        EXPECT_EQ(ran.out, "") << arguments;
        EXPECT_EQ(std::count(ran.err.begin(), ran.err.end(), '\n'), 1) << arguments << ran.err;
        EXPECT_NE(ran.err.find(said), std::string::npos) << arguments << ran.err;
    }
}

}  // namespace
